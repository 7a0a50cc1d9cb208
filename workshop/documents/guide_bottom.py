"""The steps of a making guide from the insole to the finished pair."""

from collections.abc import Iterator

from django.utils.translation import gettext as _

from patterns.pieces.making import Making
from workshop.documents.guide_units import thickness_words
from workshop.documents.guide_values import (
    GuidePlan,
    GuideStep,
    glue_caution,
    mm_words,
    named_pieces,
    needs,
)


def insole_step(plan: GuidePlan, making: Making) -> Iterator[GuideStep]:
    """Describe the insole under the last."""
    if making.insole is None:
        return
    names = {making.insole.name}
    yield GuideStep(
        "last",
        _("Insole on the last"),
        (
            _(
                "Wrap foot or last in film so that no glue reaches it. Cut the insole true to its"
                " line, round its edge a little, tape it under the foot and see that nothing"
                " stands out."
            ),
        ),
        pieces=named_pieces(making, names),
        cautions=(
            _("Work on a last or a wrapped foot: glue and dye do not come off resin, vinyl or a"
              " painted face."),
        ),
    )  # fmt: skip


def last_step(plan: GuidePlan, making: Making) -> Iterator[GuideStep]:
    """Describe the upper drawn over the last."""
    if not making.lasted:
        return
    rows = tuple(
        (piece, mm_words(plan, margin_mm), str(notches) if notches else "–")
        for piece, margin_mm, notches in making.lasted
    )
    yield GuideStep(
        "last",
        _("Draw the upper over the last"),
        (
            _(
                "Lace or close the upper on the last. Damp leather gives more: a wet sponge on the"
                " flesh side of the toe, never soaking. Pull the toe first, then the heel, then the"
                " middle of both sides, and look that the front stands straight and the topline"
                " level."
            ),
            _(
                "Glue margin and insole, let both get tacky. Fold over between the notches, the"
                " pleats of the toe small and even, lining first and upper over it; trim what"
                " stands up, so that the sole lies flat."
            ),
        ),
        rows=rows,
        heads=(_("piece"), _("turned under"), _("notches")),
        cautions=(glue_caution(),),
        needs=needs(plan, "glue"),
    )


def dry_step(plan: GuidePlan, making: Making) -> Iterator[GuideStep]:
    """Describe the break in which glue and leather dry."""
    paragraphs = [
        _(
            "Leave the shoe on its last until leather and glue are dry, by the glue's label and at"
            " least over the break given here. Not on a heater: leather shrinks and cracks."
        )
    ]
    if making.filler:
        paragraphs.append(
            _("Then fill the hollow under the insole with: {pieces}.").format(
                pieces=", ".join(piece.name for piece in making.filler)
            )
        )
    yield GuideStep("dry", _("Drying break"), tuple(paragraphs), pieces=making.filler)


def sole_step(plan: GuidePlan, making: Making) -> Iterator[GuideStep]:
    """Describe soles and heels, of clay or leather."""
    if not making.soles:
        return
    rows = tuple(
        (
            piece.name,
            str(piece.quantity),
            thickness_words(piece.thickness_mm, plan.units) if piece.thickness_mm else "–",
        )
        for piece in making.soles
    )
    if plan.has("leather_sole"):
        words = (
            _(
                "Cut soles and lifts from sole leather, pile the lifts with glue, and rasp the"
                " edges true. Rough the faces that will be glued."
            ),
        )
        cautions = (
            _("Sanding dust of leather is harmful to breathe: extract it, wear a mask, wipe up"
              " wet."),
        )  # fmt: skip
    else:
        words = (
            _(
                "Roll the clay to the thickness of the table on baking paper, lay the card pattern"
                " on it and cut upright. Smooth the edge with a damp finger; press the sole's"
                " shape against the wrapped shoe, then take it off to bake it by itself: leather"
                " and card never go into the oven."
            ),
            _(
                "Clay shrinks a little when it is baked: hold a first pair against the shoe and"
                " note how much."
            ),
        )
        cautions = (
            _("Oven clay: follow the maker's label; gloves if it asks for them; nothing that"
              " touched clay goes back to food."),
        )  # fmt: skip
    yield GuideStep(
        "sole",
        _("Soles and heels"),
        words,
        rows=rows,
        heads=(_("piece"), _("a pair"), _("thickness")),
        pieces=making.soles,
        cautions=cautions,
        needs=needs(plan, "clay", "sole"),
    )


def bake_step(plan: GuidePlan, making: Making) -> Iterator[GuideStep]:
    """Describe clay baked and cooled."""
    if plan.has("leather_sole") or not making.soles:
        return
    yield GuideStep(
        "bake",
        _("Bake and cool"),
        (
            _(
                "Bake soles and heels on a flat tile, with the temperature and time on the clay's"
                " own packet and a thermometer inside the oven. Let them cool in the oven with its"
                " door ajar, weighed down so that they stay flat. The break given here is what it"
                " takes us, baking and cooling together."
            ),
        ),
        cautions=(
            _("Never hotter or longer than the packet says: overheated clay gives off harmful"
              " fumes. If it smokes, switch off, open the windows, leave the room."),
            _("Stay with the oven; hot tile and tray: gloves."),
        ),
    )  # fmt: skip


def attach_step(plan: GuidePlan, making: Making) -> Iterator[GuideStep]:
    """Describe the sole put on."""
    if not making.soles:
        return
    yield GuideStep(
        "finish",
        _("Put the sole on"),
        (
            _(
                "Rough the lasted margin where the sole will lie, but no further. Glue both faces"
                " by the label, set the heel first, roll the sole on towards the toe, press and"
                " bind it with tape until it holds."
            ),
        ),
        cautions=(glue_caution(),),
        needs=needs(plan, "glue"),
    )


def finish_step(plan: GuidePlan, making: Making) -> Iterator[GuideStep]:
    """Describe off the last, laced and tried on."""
    paragraphs = [
        _(
            "Take the shoe off its last: open the closing fully, press the heel out first. Even the"
            " edges, colour them if you like, and rub off traces of glue."
        )
    ]
    pieces = ()
    if making.sock is not None:
        paragraphs.append(_("Glue the sock lining in, from the heel forwards."))
        pieces = (making.sock,)
    lace = needs(plan, "lace", "lace_left", "lace_right")
    if lace:
        paragraphs.append(
            _("Cut the laces, seal their ends, and lace evenly from the toe upwards.")
        )
    paragraphs.append(
        _(
            "Try it on over a sock, and rub the inside with a white cloth, dry and damp: leather"
            " that leaves colour on it will leave it on the doll."
        )
    )
    yield GuideStep(
        "finish",
        _("Finish, lace and try on"),
        tuple(paragraphs),
        pieces=pieces,
        cautions=(
            _("For a collector's doll. Not a toy and not assessed as one: small parts can be"
              " swallowed; keep it from children under 3 years."),
        ),
        needs=lace,
    )  # fmt: skip
