"""Pages of styles: versions made from a pattern's parameters, never changed."""

import pytest
from django.core.exceptions import ValidationError
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from patterns.errors import StyleError
from patterns.formula import Formula
from patterns.style import load_style, style_names
from workshop.models import AuditEntry, Style, StyleVersion
from workshop.selectors.styles import shows_at
from workshop.services.styles import style_make, style_version_make

pytestmark = [pytest.mark.django_db, pytest.mark.paper]

PATTERN = load_style("lace-up-ankle-boot")


def version_data(**changes):
    """Return what a form of the pattern's own values posts."""
    data = {"reason": "a reason"}
    for parameter in PATTERN.parameters:
        if isinstance(parameter.default, Formula) or parameter.default is False:
            continue
        data[parameter.key] = "on" if parameter.default is True else f"{parameter.default:g}"
    return {**data, **changes}


def test_a_new_style_has_a_first_version_with_the_patterns_own_values(owner_client):
    data = {"name": "Winter boot", "file_name": "lace-up-ankle-boot", "is_offered": "on"}
    answer = owner_client.post(reverse("style-new"), data)
    version = StyleVersion.objects.get()
    assert answer.headers["Location"] == reverse("style", args=[version.style.pk])
    assert version.version == 1
    assert version.file_hash == PATTERN.sha256
    assert version.values == PATTERN.values()
    kinds = AuditEntry.objects.values_list("record_kind", flat=True)
    assert set(kinds) == {"style", "styleversion"}


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"name": ""}, "name"),
        ({"name": "Ankle boot"}, "name"),
        ({"file_name": "no-such-pattern"}, "file_name"),
        ({"file_name": "../secret"}, "file_name"),
    ],
    ids=str,
)
def test_a_faulty_style_is_shown_again_and_not_stored(owner_client, style_version, changes, field):
    data = {"name": "Winter boot", "file_name": "lace-up-ankle-boot", **changes}
    page = owner_client.post(reverse("style-new"), data)
    assert page.status_code == 200
    assert page.context["form"].errors.keys() == {field}
    assert Style.objects.count() == 1


def test_the_form_of_a_version_has_every_parameter_with_its_unit_and_range(
    owner_client, style_version
):
    page = owner_client.get(reverse("style-version-new", args=[style_version.style.pk]))
    form = page.context["form"]
    for parameter in PATTERN.parameters:
        assert parameter.label in form[parameter.key].label
    assert form["lace_gap_mm"].label == "Lace gap (mm)"
    assert "From 0 to 30." in form["lace_gap_mm"].help_text
    assert "0.08 × foot length, at least 2, at most 8\u00a0mm." in form["lace_gap_mm"].help_text
    assert "common practice, no source" in page.content.decode()


def test_a_new_version_keeps_the_one_before_it(owner_client, style_version):
    style = style_version.style
    answer = owner_client.post(
        reverse("style-version-new", args=[style.pk]), version_data(lace_gap_mm="6.5")
    )
    assert answer.status_code == 302
    old, new = style.versions.order_by("version")
    assert "lace_gap_mm" not in old.values
    assert new.values == {**PATTERN.values(), "lace_gap_mm": 6.5}
    page = owner_client.get(reverse("style", args=[style.pk])).content.decode()
    assert "6.5\u00a0mm" in page
    assert "a reason" in page


def test_the_next_version_begins_with_the_newest_values(owner_client, style_version):
    address = reverse("style-version-new", args=[style_version.style.pk])
    owner_client.post(address, version_data(lace_gap_mm="6.5"))
    assert owner_client.get(address).context["form"]["lace_gap_mm"].value() == "6.5"


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("lace_gap_mm", "-1"),
        ("lace_gap_mm", "31"),
        ("lace_gap_mm", "NaN"),
        ("lace_gap_mm", "inf"),
        ("lace_gap_mm", "1e9"),
        ("lace_gap_mm", "wide"),
        ("toe_line_pct", ""),
        ("toe_line_pct", "100"),
        ("reason", ""),
        ("reason", "x" * 201),
    ],
)
def test_a_faulty_version_is_shown_again_and_not_stored(owner_client, style_version, field, value):
    address = reverse("style-version-new", args=[style_version.style.pk])
    page = owner_client.post(address, version_data(**{field: value}))
    assert page.status_code == 200
    assert page.context["form"].errors.keys() == {field}
    assert StyleVersion.objects.count() == 1


def test_a_version_is_never_changed(style_version):
    style_version.values = {}
    with pytest.raises(ValidationError):
        style_version.save()


def test_the_service_refuses_values_the_pattern_does_not_have(style_version):
    with pytest.raises(StyleError):
        style_version_make(style_version.style, values={"wing_mm": 3}, reason="r", by=None)
    assert StyleVersion.objects.count() == 1


def test_a_style_whose_pattern_is_gone_is_still_shown(owner_client, style_version):
    Style.objects.update(file_name="gone-away")
    page = owner_client.get(reverse("style", args=[style_version.style.pk]))
    assert "is there no more" in page.content.decode()
    address = reverse("style-version-new", args=[style_version.style.pk])
    assert owner_client.get(address).status_code == 404


def test_a_version_says_when_its_pattern_was_changed_since(owner_client, style_version):
    address = reverse("style", args=[style_version.style.pk])
    assert "pattern itself has changed" not in owner_client.get(address).content.decode()
    StyleVersion.objects.update(file_hash="0" * 64)
    assert "pattern itself has changed" in owner_client.get(address).content.decode()


@pytest.mark.parametrize("name", style_names())
def test_every_pattern_can_be_made_a_style_and_its_form_filled(owner_client, name):
    version = style_make(Style(name=f"style {name}", file_name=name), by=None)
    page = owner_client.get(reverse("style-version-new", args=[version.style.pk]))
    assert page.status_code == 200
    assert owner_client.get(reverse("style", args=[version.style.pk])).status_code == 200


def test_the_list_of_styles_takes_as_many_queries_for_many_as_for_one(owner_client, style_version):
    def counted():
        with CaptureQueriesContext(connection) as queries:
            owner_client.get(reverse("styles"))
        return len(queries)

    few = counted()
    for index in range(5):
        style_make(Style(name=f"style {index}", file_name="lace-up-ankle-boot"), by=None)
    assert counted() == few


def test_a_style_is_found_by_its_name_and_taken_off_offer(owner_client, style_version):
    style = style_version.style
    owner_client.post(reverse("style-change", args=[style.pk]), {"name": "Autumn boot"})
    style.refresh_from_db()
    assert (style.name, style.is_offered, style.file_name) == (
        "Autumn boot",
        False,
        "lace-up-ankle-boot",
    )
    found = owner_client.get(reverse("styles"), {"q": "autumn"}).context["page"].rows
    assert found == [style]


def test_every_pattern_there_is_a_file_for_can_be_put_on_offer(owner_client, style_version):
    page = owner_client.get(reverse("styles"))
    others = set(style_names()) - {style_version.style.file_name}
    assert {pattern.name for pattern in page.context["unused"]} == others
    form = owner_client.get(reverse("style-new") + "?pattern=strap-shoe").context["form"]
    assert (form["name"].value(), form["file_name"].value()) == ("Strap shoe", "strap-shoe")
    assert owner_client.get(reverse("style-new") + "?pattern=../x").status_code == 200


def test_a_styles_page_draws_it_with_its_lines_named_and_says_what_moves_them(
    owner_client, style_version
):
    page = owner_client.get(reverse("style", args=[style_version.style.pk])).content.decode()
    assert ">topline</text>" in page
    assert ">toe line</text>" in page
    assert "line: topline" in page
    assert "edge: heel seam" in page


@pytest.mark.parametrize("name", style_names())
def test_every_line_a_parameter_is_said_to_move_is_a_line_of_its_style(name):
    pattern = load_style(name)
    said = [shows_at(parameter.key, pattern) for parameter in pattern.parameters]
    labels = {curve.label.lower() for curve in pattern.lines.curves}
    lines = [text.removeprefix("line: ") for text in said if text.startswith("line: ")]
    assert lines
    assert {word for line in lines for word in line.split(", ")} <= labels
