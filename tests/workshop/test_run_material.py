"""Material of a job for stock parted among its styles: what was booked, else what was planned."""

from decimal import Decimal
from fractions import Fraction

from workshop.selectors.run_material import material_by_style


def line(style, pairs, upper, *amounts):
    """Return a planned line whose every pair has an upper and other materials, by name."""
    rows = [["material", upper, "4.00"], ["labour", "cutting", "9.00"]]
    rows += [["material", name, amount] for name, amount in amounts]
    return {
        "style": {"name": style},
        "pair_count": pairs,
        "bill": [{"key": "upper", "name": upper}, *({"key": "x", "name": n} for n, _a in amounts)],
        "pairs": [{"lines": rows} for _ in range(pairs)],
    }


LINES = [line("boot", 2, "Calf", ("thread", "0.30"), ("lace", "1.00")), line("shoe", 1, "Goat")]


def test_the_plan_stands_where_nothing_was_booked():
    found = material_by_style(LINES, {}, "EUR")
    assert found == {"boot": Decimal("10.60"), "shoe": Decimal("4.00")}


def test_what_was_booked_goes_where_it_was_planned_and_adds_up():
    # By hand: leather for 10.00 over 8.00 and 4.00 planned is 6.67 and 3.33; lace 3.00 is the
    # boots' alone; thread 0.60 stays as planned.
    booked = {"upper": Fraction(10), "lace": Fraction(3)}
    found = material_by_style(LINES, booked, "EUR")
    assert found == {"boot": Decimal("10.27"), "shoe": Decimal("3.33")}


def test_what_no_line_planned_goes_by_pairs():
    found = material_by_style(LINES, {"tape": Fraction(3, 2)}, "EUR")
    assert found == {"boot": Decimal("11.60"), "shoe": Decimal("4.50")}
