"""What the cores say, in the words of whoever reads it.

A core says a sentence in English beside its code. Here stands each sentence once more, as a text
with gaps that gettext knows; what stood in the gaps is read back out of the sentence, so that one
kept for years with a quote can be said in another language too. A sentence that is not in the table
is shown as it is.
"""

import re
from functools import cache

from django.utils.translation import gettext
from django.utils.translation import gettext_noop as _

from costing.how import SENTENCES as HOWS
from costing.how import How
from patterns.foot import MEASURES

SENTENCES = {
    # the draft: what it has to say
    "measures-inferred": (
        _(
            "%(count)s of 13 measures are inferred from proportion. The one that would help most:"
            " %(measure)s."
        ),
    ),
    "shaft-above-knee": (
        _(
            "The boot is %(height)s mm high but must stay below %(knee)s mm, or the knee cannot"
            " bend. Lower the boot height."
        ),
    ),
    "hem-left-off": (
        _(
            "On a foot under %(least)s mm topline and tongue are left raw: a fold there would only"
            " add bulk."
        ),
    ),
    "eyelets-too-close": (
        _("%(asked)s eyelets a side would stand closer than %(pitch)s mm; %(most)s are drawn."),
    ),
    "eyelets-few": (
        _(
            "The lace edge has room for %(count)s eyelet a side at a distance of %(pitch)s mm."
            " Lower the distance, or close the boot another way."
        ),
    ),
    "eyelets-from-edge": (
        _(
            "Eyelets are set %(set)s mm from the lace edge, not %(asked)s mm: nearer, their flange"
            " would stand over it."
        ),
    ),
    "lasting-margin-held": (
        _(
            "The lasting margin of the %(piece)s is %(margin)s mm, not %(asked)s mm: the insole is"
            " too narrow there for more."
        ),
    ),
    "lasting-cover-short": (
        _(
            "Of the %(piece)s only %(cover)s mm come under the insole; %(wanted)s mm are wanted to"
            " hold. Thin the edge and glue well."
        ),
    ),
    "measure-off-mesh": (
        _(
            "The %(measure)s is given as %(asked)s mm but the mesh shows %(built)s mm; the mesh is"
            " used."
        ),
    ),
    "measure-not-met": (
        _(
            "The %(measure)s is given as %(asked)s mm, but beside the other measures the nearest"
            " last has %(built)s mm. Measure it again together with its neighbours."
        ),
    ),
    "outsole-larger": (
        _(
            "The outsole is drawn %(needed)s mm larger than the insole all round, not %(asked)s mm:"
            " upper and lining together are that thick."
        ),
    ),
    "heel-not-the-foots": (
        _(
            "The heel is %(heel)s mm high and the foot is cast %(raise)s mm up at the heel. A cast"
            " foot does not bend: %(what)s"
        ),
    ),
    "leg-not-measured": (
        _(
            "The leg is measured up to %(known)s mm, the shaft goes to %(height)s mm and is drawn"
            " straight up from there. Add level girths up to its topline."
        ),
    ),
    "girth-off": (
        _(
            "Cut as drawn the pieces close round the last with a difference: %(places)s. Take it up"
            " where it closes, or correct that girth."
        ),
    ),
    "girth-short": (
        _(
            "Laced to a gap of %(gap)s mm the sides fall short of the girth: %(places)s. The hand"
            " method draws them as seen from the side, without the way round the leg. Make a"
            " mock-up and try it on before cutting leather."
        ),
    ),
    "stretch-over-limit": (
        _(
            "The most stretched spot of the %(piece)s needs %(most)s %%, this leather takes"
            " %(limit)s %%. Give the toe a dart or split it, build the toe lower, or take a softer"
            " leather."
        ),
        _(
            "The most stretched spot of the %(piece)s needs %(most)s %%, this leather takes"
            " %(limit)s %%. Part it once more, or take a softer leather."
        ),
    ),
    "foot-not-in": (
        _(
            "The foot will not go in: %(height)s mm above the ground it opens to %(opens)s mm, the"
            " heel needs %(needs)s mm, %(lack)s mm more. Open the front further down, widen the"
            " lace gap, lower the top, or close it another way."
        ),
    ),
    "edge-bulky": (
        _(
            "Turned edges come to %(bulk)s mm with the lining; on this size more than %(most)s mm"
            " look clumsy. Skive the folds to half, or leave the edges raw."
        ),
    ),
    "zip-length": (
        _("A zip of %(length)s mm between its stops goes into the %(edge)s of the %(piece)s."),
    ),
    # the draft: what must not be cut
    "edges-differ": (_("%(one)s and %(other)s are sewn together but differ by %(mm)s mm."),),
    "eyelets-unequal": (_("The sides carry different numbers of eyelets: %(counts)s."),),
    "outline-crosses": (
        _("The outline of the %(piece)s has fewer than three points."),
        _("The net outline of the %(piece)s crosses itself."),
        _("The cut outline of the %(piece)s crosses itself."),
    ),
    "cut-inside-net": (_("The cut line of the %(piece)s runs inside its net line."),),
    "line-off-piece": (_("A %(line)s line of the %(piece)s runs off the piece."),),
    "notch-off-edge": (_("A notch of the %(piece)s does not lie in an allowance."),),
    "eyelet-off-piece": (_("An eyelet of the %(piece)s does not lie whole inside it."),),
    "eyelets-close": (_("Eyelets of the %(piece)s stand closer than %(pitch)s mm."),),
    # the draft: why there is none
    "parameter-range": (
        _("%(label)s is %(number)s; it must lie between %(least)s and %(most)s %(unit)s."),
        _("%(label)s is %(number)s; it must lie between %(least)s and %(most)s."),
        _("%(label)s is %(number)s; it must be a whole number."),
        _("%(label)s must be a finite number, not %(number)s."),
        _("%(label)s must be a number, not %(number)s."),
    ),
    "eyelets-many": (
        _(
            "%(asked)s eyelets a side would stand closer than %(pitch)s mm: the lace edge has room"
            " for %(most)s. Ask for fewer, set the least eyelet distance lower, or the boot higher."
        ),
    ),
    "piece-no-room": (
        _(
            "There is no room for the %(piece)s on this foot: %(why)s. Set the lines beside it"
            " nearer their defaults, or check the measures."
        ),
        _(
            "The %(piece)s has no %(edge)s on this foot with the lines as set. Set the lines beside"
            " it nearer their defaults."
        ),
    ),
    "shaft-above-leg": (
        _(
            "The %(piece)s reaches over the top of the leg as it is known. Make the boot lower, or"
            " measure the leg higher up."
        ),
        _(
            "The %(piece)s reaches over the top of the leg as it is known. Make it lower, or"
            " measure the leg higher up."
        ),
    ),
    "strap-no-room": (
        _("The %(piece)s has nothing to go over there: set it further back."),
        _("The %(piece)s is too short for its buckle: lower the topline."),
    ),
    "dart-no-room": (
        _(
            "The %(piece)s has no room for a dart: its edge does not cross the middle. Leave the"
            " dart out, or split the toe instead."
        ),
    ),
    # the layout
    "piece_too_large": (
        _(
            "%(piece)s does not fit hide %(hide)s: it needs %(width)s × %(height)s mm clear of"
            " defects; the largest clear spot is %(clear_width)s × %(clear_height)s mm. Pick"
            " another hide."
        ),
    ),
    "nothing_usable": (
        _("The defects of hide %(hide)s leave nothing to cut from. Check their outlines."),
    ),
    "no_pieces": (_("The style %(style)s has no pieces of %(material)s. Pick another material."),),
    "too_many": (
        _(
            "%(pairs)s pairs have %(copies)s pieces of %(material)s; a layout takes %(most)s. Lay"
            " them out in several runs."
        ),
    ),
    "fixed_faulty": (_("The fixed placements cannot stay: %(fault)s. Move or release them."),),
    # the price
    "nothing_left": (
        _(
            "fee %(fee)s, tax %(tax)s %% and profit %(profit)s %% %(of)s leave nothing to pay the"
            " cost with; lower one of them"
        ),
    ),
    "material_not_chosen": (_("the pieces need %(material)s, but none is chosen; choose one"),),
    "thickness_missing": (
        _("%(leather)s is sewn through, so its thickness is needed; measure it"),
    ),
}
# What stands in a gap and is a sentence, or a part of one, of its own.
PARTS = {
    "what": (
        _("it would stand on its toes. Take a heel of %(raise)s mm."),
        _(
            "the whole foot is tilted forward by %(angle)s degrees on a wedge inside. Look whether"
            " the doll still stands."
        ),
        _(
            "an even platform of %(extra)s mm is taken under the whole sole. A wedge inside would"
            " tilt the foot by %(angle)s degrees instead; or take a heel of %(raise)s mm."
        ),
        _("take the foot's own height, or put a wedge inside."),
    ),
    "places": (
        _("%(place)s %(mm)s mm too wide"),
        _("%(place)s %(mm)s mm too tight"),
        _("%(place)s %(mm)s mm (%(half)s mm a side)"),
    ),
}
PAIRS = (_("pair"), _("pairs"))
GAP = re.compile(r"%\((\w+)\)s")
MEASURE_LABELS = {measure.label.lower(): measure.label for measure in MEASURES}


def said(code: str, text: str) -> str:
    """Return a sentence of the cores in the reader's language, as it is where it is not known."""
    filled = (_filled(template, text) for template in SENTENCES.get(code, ()))
    return next((words for words in filled if words is not None), text)


def how_said(how: How) -> str:
    """Return how an amount came about in the reader's language."""
    words = {name: gettext(part) if part in PAIRS else part
             for name, part in how.parameters.items()}  # fmt: skip
    return gettext(HOWS[how.code]) % words


def _filled(template: str, text: str) -> str | None:
    """Return a text as gettext says its template, or None where it is no text of that template."""
    gaps = _reader(template).fullmatch(text)
    if gaps is None:
        return None
    return gettext(template) % {
        name: _in_gap(name, part) for name, part in gaps.groupdict().items()
    }


def _in_gap(name: str, part: str) -> str:
    if name == "measure" and part in MEASURE_LABELS:
        return gettext(MEASURE_LABELS[part]).lower()
    if name == "label":
        return gettext(part)
    if name not in PARTS:
        return part
    return "; ".join(
        next((words for template in PARTS[name] if (words := _filled(template, one))), one)
        for one in part.split("; ")
    )


@cache
def _reader(template: str) -> re.Pattern[str]:
    """Return what reads the gaps of a template out of a text."""
    literal, *rest = GAP.split(template)
    pattern, known = re.escape(literal.replace("%%", "%")), set()
    for name, after in zip(rest[::2], rest[1::2], strict=True):
        pattern += f"(?P={name})" if name in known else f"(?P<{name}>.+?)"
        pattern += re.escape(after.replace("%%", "%"))
        known.add(name)
    return re.compile(pattern, re.DOTALL)
