"""The child process that reads files: bytes on standard input, JSON on standard output.

Run as ``python -m workshop.upload_reader READER [OPTIONS]``, options as a JSON object. It binds its
own memory and time before it reads a byte, loads no Django, opens no file and writes none.
"""

import json
import resource
import sys
from collections.abc import Callable, Mapping
from typing import Any

from workshop.faults import FaultyFileError, fault
from workshop.library_file import read_library_csv, read_library_json

MEMORY_MOST_BYTES = 1024**3
SECONDS_MOST = 20


def _tracing_csv(data: bytes, options: Mapping[str, Any]) -> Any:
    # Only here: the geometry takes longer to load than a library file to read.
    from workshop.tracing_file import read_tracing_csv

    return read_tracing_csv(data, unit=str(options.get("unit", "")))


def _tracing_json(data: bytes) -> Any:
    from workshop.tracing_file import read_tracing_json

    return read_tracing_json(data)


def _mesh(data: bytes, options: Mapping[str, Any]) -> Any:
    from workshop.mesh_upload import read_mesh_upload

    return read_mesh_upload(data, options)


def _photograph(data: bytes) -> Any:
    from workshop.photo_upload import read_photograph

    return read_photograph(data)


def _outline(data: bytes, options: Mapping[str, Any]) -> Any:
    from workshop.outline_upload import read_hide

    return read_hide(data, options)


def _sole(data: bytes, options: Mapping[str, Any]) -> Any:
    from workshop.outline_upload import read_sole

    return read_sole(data, options)


Options = Mapping[str, Any]
READERS: dict[str, Callable[[bytes, Options], Any]] = {
    "library-csv": lambda data, _options: read_library_csv(data),
    "library-json": lambda data, _options: read_library_json(data),
    "tracing-csv": lambda data, options: _tracing_csv(data, options),
    "tracing-json": lambda data, _options: _tracing_json(data),
    "tracing-svg": lambda data, options: _sole(data, {**options, "ending": ".svg"}),
    "tracing-dxf": lambda data, options: _sole(data, {**options, "ending": ".dxf"}),
    "mesh": _mesh,
    "photograph": lambda data, _options: _photograph(data),
    "outline": _outline,
}


def bind_process() -> None:
    """Bound memory, processor time and written files of this process for good."""
    resource.setrlimit(resource.RLIMIT_AS, (MEMORY_MOST_BYTES, MEMORY_MOST_BYTES))
    resource.setrlimit(resource.RLIMIT_CPU, (SECONDS_MOST, SECONDS_MOST))
    resource.setrlimit(resource.RLIMIT_FSIZE, (0, 0))


def answer_of(reader: str, data: bytes, options: Options) -> dict[str, Any]:
    """Return {"value": ...}, or {"faults": [...]} for a file that cannot be used."""
    try:
        return {"value": READERS[reader](data, options)}
    except FaultyFileError as error:
        return {"faults": error.faults}
    except (MemoryError, RecursionError):
        return {"faults": [fault("unreadable")]}


def main() -> int:
    """Read standard input with the reader and its options named on the command line."""
    bind_process()
    options = json.loads(sys.argv[2]) if len(sys.argv) > 2 else {}
    sys.stdout.write(json.dumps(answer_of(sys.argv[1], sys.stdin.buffer.read(), options)))
    return 0


if __name__ == "__main__":
    sys.exit(main())
