"""What the commands on files share: strict reading, whole writing, one line for a fault."""

import errno
import os
import sys
import tempfile
from collections.abc import Iterable
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand

from costing.errors import CostError
from patterns.errors import PatternError
from workshop.strict_json import JsonError, read_json_object, write_json


class InputError(Exception):
    """A file or an option cannot be used; the text is one line for the user."""


class FileCommand(BaseCommand):
    """A command from files to files; subclasses write `add_arguments` and `run`.

    Any `PatternError`, `CostError`, `JsonError` or `InputError` ends the command with one line on
    standard error and exit status 2; no output file is left behind.
    """

    requires_system_checks = []

    def __init__(self, *args: Any, **options: Any) -> None:
        super().__init__(*args, **options)
        self._inputs: set[Path] = set()  # what was read, and so is not written over

    def handle(self, *args: object, **options: Any) -> None:
        """Run, and turn a fault of the input into one line and exit 2."""
        try:
            self.run(**options)
        except (PatternError, CostError) as error:
            self._stop(f"{error.field}: {error}" if error.field else str(error))
        except (InputError, JsonError) as error:
            self._stop(str(error))

    def run(self, **options: Any) -> None:
        """Do the work of the command."""
        raise TypeError(f"{type(self).__name__} has no run method")

    def read_bytes(self, path: str, *, most_bytes: int = 20 * 1024 * 1024) -> bytes:
        """Return a file's content, or raise InputError saying why it cannot be read."""
        self._inputs.add(Path(path).resolve())
        try:
            size = os.stat(path).st_size
            if size > most_bytes:
                raise InputError(f"{path}: {size} bytes; at most {most_bytes} are read")
            return Path(path).read_bytes()
        except OSError as error:
            raise InputError(f"{path}: cannot be read ({error.strerror})") from None

    def read_document(self, path: str, *, decimals: bool = False) -> dict[str, Any]:
        """Return the JSON object of a file; numbers with a point as Decimal if asked."""
        try:
            return read_json_object(self.read_bytes(path), decimals=decimals)
        except JsonError as error:
            raise InputError(f"{path}: {error}") from None

    def write_files(self, files: Iterable[tuple[str, bytes | dict[str, Any]]]) -> None:
        """Write several files, all of them or none: documents as canonical JSON, bytes as such.

        Raises
        ------
        InputError
            A file cannot be written, is named twice, or is one that was read.
        """
        files = list(files)
        self._check_targets([path for path, _content in files])
        ready: list[tuple[str, Path]] = []
        path = ""
        try:
            for path, content in files:
                whole = content if isinstance(content, bytes) else write_json(content)
                ready.append((_beside(Path(path), whole), Path(path)))
            for temporary, target in ready:
                path = str(target)
                os.replace(temporary, target)
        except OSError as error:
            for temporary, _target in ready:
                Path(temporary).unlink(missing_ok=True)
            raise InputError(f"{path}: cannot be written ({error.strerror})") from None

    def _check_targets(self, paths: Iterable[str]) -> None:
        taken: set[Path] = set()
        for path in paths:
            target = Path(path).resolve()
            if target in self._inputs:
                raise InputError(f"{path}: is the file that was read; give the output another name")
            if target in taken:
                raise InputError(f"{path}: two outputs have this name; give each its own")
            taken.add(target)

    def _stop(self, line: str) -> None:
        self.stderr.write(" ".join(line.split()))
        sys.exit(2)


def _beside(target: Path, content: bytes) -> str:
    """Write a temporary file in the folder of its target and return its path."""
    if target.is_dir():
        raise IsADirectoryError(errno.EISDIR, os.strerror(errno.EISDIR))
    handle, temporary = tempfile.mkstemp(dir=target.parent, prefix=f".{target.name[:100]}.")
    try:
        with os.fdopen(handle, "wb") as stream:
            stream.write(content)
        os.chmod(temporary, 0o644)
    except OSError:
        os.unlink(temporary)
        raise
    return temporary
