"""What a paper may read beside its own text: our fonts by their names, and data within it."""

from collections.abc import Mapping
from typing import cast

from weasyprint.urls import URLFetcher, URLFetcherResponse

from patterns.drawing.fonts import FONT_FILES, Face, font_bytes


class OwnFonts(URLFetcher):
    """Answers addresses that are a prefix and the name of one of our faces, and ``data:``.

    Parameters
    ----------
    prefix : str
        What stands before a face's name.
    """

    def __init__(self, prefix: str) -> None:
        super().__init__(allowed_protocols={"data"})
        self._prefix = prefix

    def fetch(self, url: str, headers: Mapping[str, str] | None = None) -> URLFetcherResponse:
        """Return the font, or what the data holds; raises ValueError for any other address."""
        if not url.startswith(self._prefix):
            return super().fetch(url, headers)
        face = cast(Face, url.removeprefix(self._prefix))
        if face not in FONT_FILES:
            raise ValueError(f"no font of ours: {url}")
        return URLFetcherResponse(url, font_bytes(face), {"Content-Type": "font/ttf"})
