"""From a foot's file to a file of pieces, and drawings of them on wish."""

import argparse
from datetime import date
from pathlib import Path
from typing import Any

from patterns.drafting import draft_pieces
from patterns.drawing.pieces import draw_piece_set
from patterns.drawing.svg import drawing_svg
from patterns.errors import StyleError
from patterns.exchange.dxf import pieces_dxf
from patterns.exchange.foot_file import foot_from_document, mesh_name
from patterns.exchange.pieces_file import document_from_pieces
from patterns.foot import Foot
from patterns.formula import Formula
from patterns.style import Parameter, load_style, style_names
from workshop.documents.cutting_sheet import cutting_sheet_pdf
from workshop.documents.heading import SheetHeading
from workshop.management.file_command import FileCommand, InputError
from workshop.patience import Patience


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
        pieces = draft_pieces(
            foot, style, style.values(_overrides(options["set"])), progress=Patience()
        )
        files: list[tuple[str, bytes]] = []  # all are made before any is written
        if options["svg"]:
            title = f"{style.label}, {foot.name}"
            files.append(
                (options["svg"], drawing_svg(draw_piece_set(pieces), title=title).encode())
            )
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
