"""From a foot's file to a file of pieces, and drawings of them on wish."""

import argparse
from datetime import date
from pathlib import Path
from typing import Any

from patterns.drafting import draft_pieces
from patterns.drafting.plan import reach_mm
from patterns.errors import StyleError
from patterns.exchange.dxf import pieces_dxf
from patterns.exchange.foot_file import foot_from_document, mesh_name
from patterns.exchange.outline_sheet import sheet_of_pieces
from patterns.exchange.pieces_file import document_from_pieces
from patterns.exchange.svg_out import sheet_svg
from patterns.foot import Foot
from patterns.formula import Formula
from patterns.last import Last, build_last, wrapped
from patterns.last.solid import last_obj, last_stl, mirrored_last
from patterns.style import Parameter, load_style, style_names
from workshop.documents.cutting_sheet import cutting_sheet_pdf
from workshop.documents.heading import SheetHeading
from workshop.documents.last_sheet import last_sheet_pdf
from workshop.management.file_command import FileCommand, InputError
from workshop.patience import Patience

LAST_WRITERS = {".stl": last_stl, ".obj": last_obj}
LENGTH_MOST_MM = 100.0


class Command(FileCommand):
    """Draw the pieces of a style for a foot."""

    help = "Draw the pieces of a style for the foot in FOOT.json, or list styles with --list."

    def add_arguments(self, parser: argparse.ArgumentParser) -> None:
        """Add the command's options."""
        parser.add_argument("foot", nargs="?", metavar="FOOT.json")
        parser.add_argument("--list", action="store_true", help="print styles and parameters")
        parser.add_argument("--style", metavar="NAME")
        parser.add_argument("--set", action="append", default=[], metavar="KEY=VALUE", dest="set")
        parser.add_argument("--out", metavar="PIECES.json")
        parser.add_argument("--pdf", metavar="FILE")
        parser.add_argument("--date", metavar="YYYY-MM-DD", help="date on the PDF, else today")
        parser.add_argument("--svg", metavar="FILE")
        parser.add_argument("--dxf", metavar="FILE")
        parser.add_argument("--last", metavar="FILE", help="the last as .stl or .obj, in mm")
        parser.add_argument("--last-other", metavar="FILE", help="the other foot's last")
        parser.add_argument(
            "--last-wrap", metavar="MM", default="0", help="grow these lasts all round; 0: bare"
        )
        parser.add_argument("--cards", metavar="FILE", help="the last as slotted cards, PDF")
        parser.add_argument("--card-thickness", metavar="MM", default="1")
        parser.add_argument("--card-spacing", metavar="MM", default="8")

    def run(self, **options: Any) -> None:
        """List the styles, or read, draw and write."""
        if options["list"]:
            for name in style_names():
                self._list_style(name)
            return
        for option in ("foot", "style", "out"):
            if not options[option]:
                name = "FOOT.json" if option == "foot" else f"--{option}"
                raise InputError(f"{name} is missing; see draft --help")
        style = load_style(options["style"])
        foot = self._read_foot(options["foot"])
        values = style.values(_overrides(options["set"]))
        progress = Patience()
        last = None
        files: list[tuple[str, bytes]] = []  # all are made before any is written
        if any(options[name] for name in ("last", "last_other", "cards")):
            progress("the last")
            last = build_last(foot, top_mm=reach_mm(foot, style, values))
            files += _last_files(last, foot, options)
        pieces = draft_pieces(foot, style, values, last=last, progress=progress)
        if options["svg"]:
            title = f"{style.label}, {foot.name}"
            files.append((options["svg"], sheet_svg(sheet_of_pieces(pieces), title=title)))
        if options["dxf"]:
            files.append((options["dxf"], pieces_dxf(pieces)))
        if options["pdf"]:
            heading = SheetHeading(doll=foot.name, style=style.label, drawn_foot=foot.foot_side)
            sheet = cutting_sheet_pdf(pieces, heading=heading, made_on=_day(options["date"]))
            files.append((options["pdf"], sheet))
        self.write_files([*files, (options["out"], document_from_pieces(pieces, with_mesh=True))])
        for message in pieces.messages:
            self.stdout.write(f"{message.level}: {message.text}")

    def _read_foot(self, path: str) -> Foot:
        document = self.read_document(path)
        mesh = mesh_name(document)
        content = None
        if mesh is not None:
            content = self.read_bytes(str(Path(path).parent / mesh))
        return foot_from_document(document, mesh_content=content)

    def _list_style(self, name: str) -> None:
        style = load_style(name)
        self.stdout.write(f"{name}: {style.description}")
        for parameter in style.parameters:
            self.stdout.write(f"  {_parameter_line(parameter)}")


def _last_files(last: Last, foot: Foot, options: dict[str, Any]) -> list[tuple[str, bytes]]:
    """Return the files of the last that are asked for: of this foot, of the other, as cards."""
    grown = wrapped(last, _length(options, "last_wrap"))
    files = []
    for option, form in (("last", grown), ("last_other", mirrored_last(grown))):
        path = options[option]
        if path:
            ending = Path(path).suffix.lower()
            if ending not in LAST_WRITERS:
                name = option.replace("_", "-")
                raise InputError(f"--{name} {path!r} must end in .stl or .obj")
            files.append((path, LAST_WRITERS[ending](form)))
    if options["cards"]:
        sheet = last_sheet_pdf(
            grown,
            card_thickness_mm=_length(options, "card_thickness"),
            spacing_mm=_length(options, "card_spacing"),
            heading=SheetHeading(doll=foot.name, drawn_foot=foot.foot_side),
            made_on=_day(options["date"]),
        )
        files.append((options["cards"], sheet))
    return files


def _length(options: dict[str, Any], option: str) -> float:
    """Return an option's length in mm."""
    try:
        value = float(options[option])
    except ValueError:
        value = float("nan")
    if not 0.0 <= value <= LENGTH_MOST_MM:
        name = option.replace("_", "-")
        raise InputError(f"--{name} {options[option]!r} must be 0 to {LENGTH_MOST_MM:g} mm")
    return value


def _day(given: str | None) -> date:
    """Return the date to print, today's if none is given."""
    try:
        return date.fromisoformat(given) if given else date.today()
    except ValueError:
        raise InputError(f"--date {given!r} must read YYYY-MM-DD") from None


def _overrides(pairs: list[str]) -> dict[str, str]:
    """Return the values of --set by key."""
    values = {}
    for pair in pairs:
        key, equals, value = pair.partition("=")
        if not equals or not key:
            text = f"--set {pair[:60]!r} must read KEY=VALUE."
            raise StyleError(text, field="parameters", code="set-form")
        values[key.strip()] = value.strip()
    return values


def _parameter_line(parameter: Parameter) -> str:
    default = parameter.default
    if isinstance(default, Formula):
        shown = " + ".join(f"{factor:g} x {name}" for name, factor in default.times)
        if default.number:
            shown = f"{default.number:g} + {shown}"
        if default.at_most != float("inf"):
            shown += f", at most {default.at_most:g}"
    elif isinstance(default, bool):
        shown = "yes" if default else "no"
    else:
        shown = f"{default:g}"
    if parameter.kind == "flag":
        limits = "yes or no"
    else:
        limits = f"{parameter.least:g} to {parameter.most:g}"
    unit = f" {parameter.unit}" if parameter.unit else ""
    return f"{parameter.key}: {parameter.label}, {shown}{unit} ({limits})"
