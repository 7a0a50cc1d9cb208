"""Measure the default waste of each style; run as ``python -m tests.bench.measure_waste``.

Drafts every style on feet of three lengths, in the proportions inferred from the length alone,
and lays as many pairs as a 300 x 200 mm remnant and a 600 x 400 mm hide hold in so many steps.
Prints the lines of ``patterns.layout.estimate.DEFAULT_SAMPLES``; the leather taken is what
`patterns.layout.layout_waste` calls occupied.
"""

import sys

from patterns.drafting import draft_pieces
from patterns.errors import PatternError
from patterns.exchange.foot_file import foot_from_document
from patterns.layout import layout_waste, pairs_that_fit, request_from_pieces
from patterns.style import load_style, style_names
from tests.samples_layouts import sample_request

LENGTHS_MM = (55.0, 75.0, 95.0)
HIDES = ("remnant_300x200", "hide_600x400")
STEPS, SEED = 12, 7


def main() -> None:
    """Draft, lay out and print."""
    for name in style_names():
        for length_mm in LENGTHS_MM:
            document = {"name": "invented", "unit": "mm", "measures": {"foot_length": length_mm}}
            try:
                pieces = draft_pieces(foot_from_document(document), load_style(name), {})
            except PatternError as error:
                print(f"{name} {length_mm:g}: {error}", file=sys.stderr)
                continue
            for hide in HIDES:
                asked = request_from_pieces(pieces, sample_request(hide).hides, pair_count=1)
                try:
                    pairs, layout = pairs_that_fit(asked, seed=SEED, steps=STEPS)
                except PatternError as error:
                    print(f"{name} {length_mm:g} on {hide}: {error}", file=sys.stderr)
                    continue
                if not pairs:
                    continue
                waste = layout_waste(asked, layout)
                print(
                    f'    _measured("{name}", {length_mm}, {pairs}, '
                    f"{waste.used_area_mm2:.0f}.0, {waste.occupied_area_mm2:.0f}.0),",
                    flush=True,
                )


if __name__ == "__main__":
    main()
