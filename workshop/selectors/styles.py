"""Styles and their versions as the pages show them."""

from dataclasses import dataclass

from django.utils.translation import gettext as _

from patterns.errors import StyleError
from patterns.foot import MEASURE_BY_KEY
from patterns.formula import Formula
from patterns.style import Parameter, load_style, style_names
from patterns.style import Style as Pattern
from workshop.lengths import MM, MM_PER_INCH
from workshop.models import Style, StyleVersion
from workshop.paging import ListPage, list_page

FEW_VERSIONS = 20


@dataclass(frozen=True, slots=True)
class ParameterRow:
    """One parameter with its value in a version, in words."""

    key: str
    label: str
    help_text: str
    value: str
    default: str
    is_default: bool
    shows_at: str


@dataclass(frozen=True, slots=True)
class VersionShown:
    """A version with all its values; `drawn_anew` when the pattern's file changed since."""

    record: StyleVersion
    rows: list[ParameterRow]
    drawn_anew: bool


def pattern_of(style: Style) -> Pattern | None:
    """Return the pattern a style is drawn by, or None if it is there no more."""
    return pattern_named(style.file_name)


def pattern_named(file_name: str) -> Pattern | None:
    """Return a pattern by the name of its file, or None if it is there no more."""
    try:
        return load_style(file_name)
    except StyleError:
        return None


def patterns_unused() -> list[Pattern]:
    """Return the patterns there are files for that no style on record is drawn by."""
    used = set(Style.objects.values_list("file_name", flat=True))
    return [load_style(name) for name in style_names() if name not in used]


def styles_page(*, text: str, before: str) -> ListPage:
    """Return a page of styles, newest first, with their versions."""
    styles = Style.objects.prefetch_related("versions")
    if text.strip():
        styles = styles.filter(name__icontains=text.strip()[:80])
    return list_page(styles, before)


def versions_shown(style: Style) -> list[VersionShown]:
    """Return the newest versions of a style, each value in words."""
    pattern = pattern_of(style)
    versions = style.versions.select_related("made_by").order_by("-version")[:FEW_VERSIONS]
    return [
        VersionShown(
            version,
            _rows(pattern, version) if pattern else [],
            pattern is None or pattern.sha256 != version.file_hash,
        )
        for version in versions
    ]


def _rows(pattern: Pattern, version: StyleVersion) -> list[ParameterRow]:
    return [
        ParameterRow(
            key=parameter.key,
            label=_(parameter.label),
            help_text=_(parameter.help_text),
            value=value_words(parameter, version.values.get(parameter.key)),
            default=value_words(parameter, None),
            is_default=version.values.get(parameter.key, parameter.default) == parameter.default,
            shows_at=shows_at(parameter.key, pattern),
        )
        for parameter in pattern.parameters
    ]


def shows_at(key: str, pattern: Pattern) -> str:
    """Return where a parameter shows: the lines it moves, else the edges or parts it makes."""
    lines = pattern.lines
    if lines is None:
        return ""
    stem = _stem(key)
    moved = [
        _(curve.label).lower()
        for curve in lines.curves
        if any(_names(formula, stem) for pair in curve.through for formula in pair)
    ]
    if moved:
        return _("line: %(names)s") % {"names": ", ".join(dict.fromkeys(moved))}
    edges = [rule.name for rule in lines.edges if _names(rule.allowance_mm, stem)]
    if edges:
        return _("edge: %(names)s") % {"names": ", ".join(dict.fromkeys(edges))}
    parts = [
        feature.name
        for feature in lines.features
        if any(_names(formula, stem) for formula in feature.numbers.values())
        or any(condition.key == key for condition in feature.when)
    ]
    parts += [r.name for r in lines.regions if any(c.key == key for c in r.when)]
    if parts:
        return _("part: %(names)s") % {"names": ", ".join(dict.fromkeys(parts))}
    return ""


def _names(formula: Formula, stem: str) -> bool:
    """Return whether a formula follows a parameter, by its own key or what is made of it."""
    return any(_stem(name) == stem for name, _factor in formula.times)


def _stem(name: str) -> str:
    """Return a number's name without its unit: toe_line_pct and toe_line_mm are one thing."""
    for ending in ("_ridge_mm", "_turned_mm", "_mm", "_pct", "_deg", "_tan"):
        if name.endswith(ending):
            return name.removesuffix(ending)
    return name


def value_words(parameter: Parameter, value: float | bool | None) -> str:
    """Return a value with its unit; for None, the default, which may follow the foot."""
    if value is None:
        value = parameter.default
    if isinstance(value, bool):
        return _("yes") if value else _("no")
    words = formula_words(value) if isinstance(value, Formula) else f"{value:g}"
    unit = {"deg": "°", "pct": "\u00a0%", "": ""}.get(parameter.unit, f"\u00a0{parameter.unit}")
    return words + unit


def drawn_words(parameter: Parameter, value: float | str | bool, unit: str = MM) -> str:
    """Return what a parameter came to, without its unit, as a hint beside its field."""
    if parameter.kind == "flag":
        return _("yes") if value else _("no")
    if parameter.kind == "length" and isinstance(value, float):
        return f"{value:.1f}" if unit == MM else f"{value / float(MM_PER_INCH):.2f}"
    return f"{value:g}" if isinstance(value, int | float) else str(value)


def unit_words(parameter: Parameter) -> str:
    """Return the unit of a parameter as labels show it."""
    return {"deg": "°", "pct": "%"}.get(parameter.unit, parameter.unit)


def formula_words(formula: Formula) -> str:
    """Return a default that follows the foot as a maker would say it."""
    parts = [f"{factor:g} × {_measure_words(name)}" for name, factor in formula.times]
    if formula.number or not parts:
        parts.insert(0, f"{formula.number:g}")
    words = " + ".join(parts)
    if formula.at_least > float("-inf"):
        words += _(", at least %(bound)s") % {"bound": f"{formula.at_least:g}"}
    if formula.at_most < float("inf"):
        words += _(", at most %(bound)s") % {"bound": f"{formula.at_most:g}"}
    return words


def _measure_words(name: str) -> str:
    measure = MEASURE_BY_KEY.get(name)
    return _(measure.label).lower() if measure else name.replace("_", " ")
