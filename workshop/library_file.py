"""The library as a file: customers, dolls and feet, keyed by the codes people see.

A foot's mesh is named by the sha256 of its file, which stays in the data folder and goes with it.
One CSV table with a `record` column that stays readable in a spreadsheet, or one JSON object.
Both read into the same rows, and what is written reads back the same. No Django here: files of
others are read in a child process.
"""

import csv
import io
import json
from collections.abc import Iterable
from decimal import Decimal
from typing import Any

from workshop.faults import FAULTS_SHOWN, FaultyFileError, fault
from workshop.lengths import length_text, typed_length
from workshop.strict_json import JsonError, read_json_object

FORMAT = "doll-footwear-library"
FORMAT_VERSION = 1
ROWS_MOST = 100_000
CELL_MOST = 1_000_000

# The thirteen measures of patterns.foot, spelt out so that reading a file loads no geometry.
MEASURES = (
    "foot_length", "ball_width", "ball_girth", "heel_width", "instep_girth", "instep_height",
    "heel_instep_girth", "ankle_girth", "ankle_height", "toe_height", "calf_girth",
    "calf_height", "heel_raise",
)  # fmt: skip
NUMBERS = (*MEASURES, "knee_clearance_mm")
POINTS = ("sole_outline", "side_profile")
FIELDS: dict[str, tuple[str, ...]] = {
    "customer": ("code", "name", "email", "phone", "address", "country", "note", "made_at"),
    "doll": (
        "code", "name", "customer", "material", "skin_tone", "feet_kind", "note", "made_at",
    ),
    "foot": (
        "code", "foot_side", "version", *NUMBERS, "level_girths", *POINTS, "mesh", "reason",
        "made_at",
    ),
}  # fmt: skip
COLUMNS: tuple[str, ...] = (
    "record", "code", "name", "customer", "material", "skin_tone", "feet_kind", "foot_side",
    "version", *NUMBERS, "level_girths", "email", "phone", "address", "country", "reason",
    "note", "made_at", *POINTS, "mesh",
)  # fmt: skip
LISTS = {"customer": "customers", "doll": "dolls", "foot": "feet"}

# A spreadsheet runs a cell that begins so as a formula; a mark before it keeps it text. A cell
# that begins with the mark itself gets a second one, so that taking one away is always right.
RISKY = ("=", "+", "-", "@", "\t", "\r")
GUARD = "'"

Values = dict[str, Any]
Row = dict[str, Any]  # {"record": kind, "where": ["line", 12], "values": Values}


def guarded(text: str) -> str:
    """Return a cell's text so that no spreadsheet takes it for a formula.

    >>> guarded("+31 20"), guarded("Ada"), guarded("'=x")
    ("'+31 20", 'Ada', "''=x")
    """
    return GUARD + text if text.startswith((*RISKY, GUARD)) else text


def unguarded(cell: str) -> str:
    """Return the text `guarded` was given."""
    marked = cell.startswith(GUARD) and cell[1:].startswith((*RISKY, GUARD))
    return cell[1:] if marked else cell


# --- writing -------------------------------------------------------------------------------


def library_csv(records: Iterable[tuple[str, Values]]) -> bytes:
    """Return the table of all records, given as (kind, values)."""
    stream = io.StringIO(newline="")
    table = csv.writer(stream, lineterminator="\r\n")
    table.writerow(COLUMNS)
    for kind, values in records:
        cells = {"record": kind, **{name: _cell(name, value) for name, value in values.items()}}
        table.writerow([guarded(cells.get(name, "")) for name in COLUMNS])
    # The mark in front tells a spreadsheet that the text is UTF-8.
    return stream.getvalue().encode("utf-8-sig")


def _cell(name: str, value: Any) -> str:
    if name == "level_girths":
        return "; ".join(f"{row['height_mm']} x {row['girth_mm']}" for row in value)
    if name in POINTS:
        return "; ".join(f"{x!r} {y!r}" for x, y in value)
    return str(value)


def library_json(records: Iterable[tuple[str, Values]]) -> bytes:
    """Return the JSON object of all records, one record a line; empty values are left out."""
    lists: dict[str, list[str]] = {name: [] for name in LISTS.values()}
    for kind, values in records:
        kept = {
            name: float(value) if name in NUMBERS else value
            for name, value in values.items()
            if value not in ("", [])
        }
        lists[LISTS[kind]].append(json.dumps(kept, ensure_ascii=False, allow_nan=False))
    parts = [f'"format": "{FORMAT}", "version": {FORMAT_VERSION}, "unit": "mm"']
    parts += [f'"{name}": [\n' + ",\n".join(lines) + "\n]" for name, lines in lists.items()]
    return ("{" + ",\n".join(parts) + "}\n").encode()


# --- reading -------------------------------------------------------------------------------


def read_library_csv(data: bytes) -> list[Row]:
    """Return the rows of a table.

    Raises
    ------
    FaultyFileError
        Every line that cannot be read, up to 50.
    """
    text = decoded(data)
    csv.field_size_limit(CELL_MOST)
    head = text.split("\n", 1)[0]
    table = csv.reader(
        io.StringIO(text, newline=""), delimiter=";" if head.count(";") > head.count(",") else ","
    )
    lines = _lines(table)
    header = [name.strip().lower() for name in next(lines, (1, [""]))[1]]
    _check_header(header)
    rows: list[Row] = []
    faults: list[dict[str, Any]] = []
    for line, cells in lines:
        if not any(cell.strip() for cell in cells):
            continue
        if len(rows) >= ROWS_MOST:
            raise FaultyFileError([fault("rows-many", ("line", line), most=ROWS_MOST)])
        kind, given = _csv_record(header, cells, line, faults)
        _take(rows, faults, ("line", line), kind, given, header)
    return _rows_or_faults(rows, faults)


def decoded(data: bytes) -> str:
    """Return a file's text; wrong encoding and NUL bytes are faults by line."""
    if not data.strip():
        raise FaultyFileError([fault("empty")])
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        raise FaultyFileError([fault("encoding", ("line", line))]) from None
    if "\0" in text:
        line = text.count("\n", 0, text.index("\0")) + 1
        raise FaultyFileError([fault("nul", ("line", line))])
    return text


def _lines(table: Any) -> Iterable[tuple[int, list[str]]]:
    """Yield each record with the line it begins on; a cell may hold line breaks."""
    begins = 1
    try:
        for cells in table:
            yield begins, cells
            begins = table.line_num + 1
    except csv.Error as error:
        raise FaultyFileError([fault("csv", ("line", begins), said=str(error))]) from None


def _check_header(header: list[str]) -> None:
    unknown = sorted(set(header) - set(COLUMNS) - {""})
    doubled = sorted({name for name in header if name and header.count(name) > 1})
    if "record" not in header or "code" not in header:
        raise FaultyFileError([fault("header", ("line", 1))])
    if unknown:
        raise FaultyFileError(
            [fault("column-unknown", ("line", 1), columns=", ".join(unknown)[:200])]
        )
    if doubled:
        raise FaultyFileError(
            [fault("column-twice", ("line", 1), columns=", ".join(doubled)[:200])]
        )


def _csv_record(
    header: list[str], cells: list[str], line: int, faults: list[dict[str, Any]]
) -> tuple[str, Values]:
    if len(cells) > len(header) and any(cell.strip() for cell in cells[len(header) :]):
        faults.append(fault("cells-many", ("line", line), cells=len(cells), columns=len(header)))
    named = zip(header, cells, strict=False)
    values: Values = {name: unguarded(cell) for name, cell in named if name and cell}
    return values.pop("record", "").strip(), values


def read_library_json(data: bytes) -> list[Row]:
    """Return the rows of a JSON library; raises FaultyFileError as `read_library_csv` does."""
    decoded(data)
    try:
        document = read_json_object(data, decimals=True)
    except JsonError as error:
        raise FaultyFileError([fault("json", said=str(error))]) from None
    if document.get("format") != FORMAT or document.get("version") != FORMAT_VERSION:
        raise FaultyFileError([fault("json-format", format=FORMAT, version=FORMAT_VERSION)])
    if document.get("unit", "mm") != "mm":
        raise FaultyFileError([fault("json-unit")])
    rows: list[Row] = []
    faults: list[dict[str, Any]] = []
    for kind, name in LISTS.items():
        entries = document.get(name, [])
        if not isinstance(entries, list):
            raise FaultyFileError([fault("json-list", name=name)])
        if len(rows) + len(entries) > ROWS_MOST:
            raise FaultyFileError([fault("rows-many", (name, 1), most=ROWS_MOST)])
        for number, entry in enumerate(entries, 1):
            where = (name, number)
            if isinstance(entry, dict):
                _take(rows, faults, where, kind, entry, FIELDS[kind])
            else:
                faults.append(fault("json-entry", where))
    return _rows_or_faults(rows, faults)


def _take(
    rows: list[Row],
    faults: list[dict[str, Any]],
    where: tuple[str, int],
    kind: str,
    given: Values,
    told: Iterable[str],
) -> None:
    """Add one record's plain row, or what is wrong with it.

    `told` names the values the file speaks of: a column that is missing leaves a stored value as
    it is, an empty cell empties it.
    """
    if kind not in FIELDS:
        faults.append(fault("record-unknown", where, record=kind[:40]))
        return
    misplaced = sorted(name for name in given if name not in FIELDS[kind])
    if misplaced:
        faults.append(
            fault("column-misplaced", where, columns=", ".join(misplaced)[:200], record=kind)
        )
        return
    values: Values = {}
    for name in (name for name in FIELDS[kind] if name in told):
        try:
            values[name] = _value(name, given.get(name, ""))
        except ValueError:
            faults.append(fault("cell", where, column=name))
    rows.append({"record": kind, "where": list(where), "values": values})


def _rows_or_faults(rows: list[Row], faults: list[dict[str, Any]]) -> list[Row]:
    if faults:
        raise FaultyFileError(faults[: FAULTS_SHOWN + 1])
    if not rows:
        raise FaultyFileError([fault("no-rows")])
    return rows


def _value(name: str, given: Any) -> Any:
    """Return a value in the one plain shape both kinds of file read into."""
    if name == "level_girths":
        return _level_girths(given)
    if name in POINTS:
        return _points(given)
    if given is None:
        return ""
    if isinstance(given, bool) or not isinstance(given, str | int | float | Decimal):
        raise ValueError(name)
    text = given if isinstance(given, str) else format(Decimal(given), "f")
    return text if name in ("note", "address") else text.strip()


def _level_girths(given: Any) -> list[dict[str, str]]:
    if isinstance(given, str):
        pairs = [part.lower().split("x") for part in given.split(";") if part.strip()]
    elif isinstance(given, list) and all(isinstance(row, dict) for row in given):
        pairs = [[str(row["height_mm"]), str(row["girth_mm"])] if len(row) == 2 and
                 {"height_mm", "girth_mm"} == set(row) else [] for row in given]  # fmt: skip
    else:
        raise ValueError(given)
    return [
        {
            "height_mm": length_text(typed_length(height)),
            "girth_mm": length_text(typed_length(girth)),
        }
        for height, girth in pairs
    ]


def _points(given: Any) -> list[list[float]]:
    if isinstance(given, str):
        pairs = [part.split() for part in given.split(";") if part.strip()]
    elif isinstance(given, list) and all(isinstance(point, list) for point in given):
        pairs = [[str(value) for value in point] for point in given]
    else:
        raise ValueError(given)
    return [[float(typed_length(x)), float(typed_length(y))] for x, y in pairs]
