"""Lay pieces out on hides, from a file to a file."""

import argparse
import math
import time
from typing import Any

from patterns.exchange.layout_file import document_from_layout, request_from_document
from patterns.exchange.outline_sheet import sheet_of_layout
from patterns.exchange.svg_out import sheet_svg
from patterns.layout import lay_out
from patterns.layout.search import DEFAULT_STEPS
from workshop.management.file_command import FileCommand, InputError


class Command(FileCommand):
    """``manage.py nest INSTANCE.json [--seconds N | --steps N] --seed S --out LAYOUT.json``."""

    help = "Lay out pieces on hides: an INSTANCE.json file in, a LAYOUT.json file out."

    def add_arguments(self, parser: argparse.ArgumentParser) -> None:
        """Take the files, the seed, and how long to search."""
        parser.add_argument("instance", metavar="INSTANCE.json")
        parser.add_argument("--seconds", help="how long to search; the result may differ each time")
        parser.add_argument(
            "--steps", help=f"how many tries to make ({DEFAULT_STEPS} if neither is given)"
        )
        parser.add_argument("--seed", required=True, help="a whole number; the same gives the same")
        parser.add_argument("--out", required=True, metavar="LAYOUT.json")
        parser.add_argument("--svg", metavar="FILE.svg", help="the layout for other programs, mm")
        parser.add_argument("--dxf", metavar="FILE.dxf", help="the same as DXF")

    def run(self, **options: Any) -> None:
        """Read, lay out, write."""
        if options["seconds"] is not None and options["steps"] is not None:
            raise InputError("--seconds and --steps exclude each other; give one of them")
        steps = _whole(options["steps"], "--steps")
        seconds = _number(options["seconds"], "--seconds")
        seed = _whole(options["seed"], "--seed")
        request = request_from_document(self.read_document(options["instance"]))
        layout = lay_out(
            request,
            seed=seed if seed is not None else 0,
            steps=steps,
            seconds=seconds,
            clock=time.monotonic,
        )
        files: list[tuple[str, bytes | dict]] = [(options["out"], document_from_layout(layout))]
        sheet = sheet_of_layout(request, layout)
        if options["svg"]:
            files.append((options["svg"], sheet_svg(sheet, title="Layout")))
        if options["dxf"]:
            # Loaded here: the DXF package takes a second.
            from patterns.exchange.dxf import sheet_dxf

            files.append((options["dxf"], sheet_dxf(sheet)))
        self.write_files(files)


def _whole(text: str | None, option: str) -> int | None:
    if text is None:
        return None
    try:
        return int(text)
    except ValueError:
        raise InputError(f"{option}: {text[:40]!r} is not a whole number") from None


def _number(text: str | None, option: str) -> float | None:
    if text is None:
        return None
    try:
        value = float(text)
    except ValueError:
        value = math.nan
    if not math.isfinite(value):
        raise InputError(f"{option}: {text[:40]!r} is not a number of seconds")
    return value
