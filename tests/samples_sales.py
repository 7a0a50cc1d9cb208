"""Invented jobs with everything a sale may have: several fees, rush, postage, shared setting up."""

from typing import Any

from hypothesis import strategies as st

from tests.samples_jobs import DIGITS, amounts, job_documents


def money(most: int, digits: int) -> st.SearchStrategy[str]:
    """Return amounts at the minor unit."""
    return st.decimals(0, most, places=digits).map(str)


@st.composite
def sale_documents(draw: st.DrawFn) -> dict[str, Any]:
    """Return jobs that use every value a plain job leaves out."""
    document = draw(job_documents())
    digits = DIGITS[document["currency"]]
    unit = 10**-digits
    steps = round(float(document["round_up_to"]) / unit)
    ending = draw(st.integers(0, steps - 1))
    fee = {
        "pct": draw(amounts(4, 2)),
        "fixed": draw(amounts(1, 2)),
        "on": draw(st.sampled_from(["price_with_tax", "price_without_tax"])),
        "on_postage": draw(st.booleans()),
        "payments": draw(st.integers(1, 4)),
        "name": "payment",
    }
    document["fees"] |= {"on_postage": draw(st.booleans()), "payments": draw(st.integers(1, 3))}
    document["tax"] |= {"on_postage": draw(st.booleans())}
    if draw(st.integers(0, 4)) == 0:
        document["tax"] |= {"pct": "0", "registered": False}
    for step in document["steps"]:
        step["per"] = draw(st.sampled_from(["order", "pair", "batch"]))
        step["again_pct_less"] = draw(amounts(100, 1))
    return document | {
        "more_fees": draw(st.lists(st.just(fee), max_size=2)),
        "rush": {"pct": draw(amounts(40, 1)), "fixed": draw(money(20, digits))},
        "postage": {
            "charged": draw(money(20, digits)),
            "paid": draw(money(25, digits)),
            "packing": draw(money(3, digits)),
        },
        "batch_pairs": document["quantity"] + draw(st.integers(0, 6)),
        "round_ending": f"{ending * unit:.{digits}f}",
        "round_way": draw(st.sampled_from(["up", "nearest"])),
        "least_price": draw(st.one_of(st.just("0"), money(200, digits))),
    }
