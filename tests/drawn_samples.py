"""An invented little boot: pieces, a hide and a layout, for the tests of drawings and papers."""

from shapely.geometry import Polygon

from patterns.drawing.drawing import Turn, smooth_curve
from patterns.hide import GradedArea, Hide
from patterns.layout.values import Layout, LayoutPiece, LayoutRequest, Placement
from patterns.pieces.piece import Edge, EdgeName, Hole, Line, Notch, Piece, PieceSet, Ring


def ring(*corners, per_span=6) -> Ring:
    points = smooth_curve(corners, closed=True, per_span=per_span)
    return tuple((round(x, 3), round(y, 3)) for x, y in points)


def grown(net: Ring, by_mm: float) -> Ring:
    corners = list(Polygon(net).buffer(by_mm, quad_segs=4).exterior.coords)[:-1]
    return tuple((round(x, 3), round(y, 3)) for x, y in corners)


def toe_box() -> Piece:
    net = ring((0, 0), (8, 18), (24, 27), (40, 27), (56, 18), (64, 0), (48, 5), (32, 7), (16, 5))
    edge = Edge("toe edge", "lasting", 8.0, net[:31], None)
    notches = tuple(Notch("toe edge", t, angle, 3.0) for t, angle in ((0.35, 120), (0.5, 92)))
    return Piece(
        "toe box", 2, 1, "upper", net, grown(net, 8.0), (edge,), notches=notches,
        lines=(Line("stitch", ((14, 7.5), (32, 10), (50, 7.5))),), tight_way_deg=90.0,
    )  # fmt: skip


def side(name: str) -> Piece:
    net = ring(
        (0, 0),
        (2, 24),
        (6, 46),
        (14, 60),
        (34, 58),
        (33, 40),
        (40, 22),
        (62, 12),
        (60, 0),
        (30, -3),
    )
    holes = tuple(Hole("eyelet", 29.5, y, 2.5) for y in (27.0, 35.0, 43.0, 51.0))
    fold = Line("fold", ((12, 56.5), (22, 56), (31, 55)))
    partner = EdgeName("counter", "front")
    edge = Edge("back seam", "seam", 5.0, net[:19], partner)
    return Piece(
        name, 2, 1, "upper", net, grown(net, 5.0), (edge,), holes=holes, lines=(fold,),
        tight_way_deg=75.0,
    )  # fmt: skip


def small_pieces() -> tuple[Piece, ...]:
    tongue = ring((0, 0), (2, 30), (6, 52), (16, 58), (26, 52), (30, 30), (32, 0), (16, -2))
    strap: Ring = ((0, 0), (84, 0), (84, 7), (0, 7))
    tab: Ring = ((0, 0), (9, 0), (9, 9), (0, 9))
    insole = ring(
        (0, 0),
        (4, 9),
        (25, 11),
        (48, 15),
        (66, 10),
        (74, -1),
        (68, -11),
        (48, -14),
        (22, -10),
        (4, -8),
    )
    return (
        Piece("tongue", 2, 0, "upper", tongue, tongue, tight_way_deg=90.0, mirror_free=True),
        Piece("back stay", 2, 0, "upper", strap, strap, mirror_free=True),
        Piece("pull tab", 2, 0, "lining", tab, tab, mirror_free=True, face_up="flesh"),
        Piece("insole", 2, 1, "card", insole, insole),
        Piece("outsole", 2, 1, "sole", grown(insole, 1.5), grown(insole, 1.5), face_up="grain"),
    )


def long_shaft() -> Piece:
    net: Ring = ((0, 0), (230, 0), (245, 320), (120, 335), (-15, 320))
    return Piece("long shaft", 2, 1, "upper", net, grown(net, 5.0), tight_way_deg=90.0)


def boot(*more: Piece, name: str = "doll of the test bench", foot_side="pair") -> PieceSet:
    pieces = (toe_box(), side("outer side"), side("inner side"), *small_pieces(), *more)
    return PieceSet(
        style="lace-up-ankle-boot", foot=name, foot_side=foot_side, engine="test",
        parameters={"eyelet_pitch_mm": 8.0}, source_kind="measures", measures=(),
        girth_closure=(), lasting=(), seams=(), messages=(), pieces=pieces,
    )  # fmt: skip


def hide() -> Hide:
    outline = ring(
        (0, 20), (30, 180), (120, 240), (260, 225), (380, 250), (410, 120), (360, 20), (200, -8)
    )
    defects = (
        ring((90, 150), (110, 170), (130, 160), (115, 140)),
        ((300, 60), (330, 62), (318, 80)),
    )
    grade = GradedArea(2, ((300, 150), (390, 150), (390, 230), (300, 220)))
    return Hide("H-0012", outline, defects, (grade,))


def laid_out() -> tuple[LayoutRequest, Layout]:
    pieces = (toe_box(), side("outer side"), small_pieces()[0])
    request = LayoutRequest(
        hides=(hide(),),
        pieces=tuple(
            LayoutPiece(p.name, p.cut_mm, p.quantity, p.mirrored_quantity, p.mirror_free, per_set=2)
            for p in pieces
        ),
    )
    places = (
        Placement("toe box", "H-0012", 40, 50, 0, False),
        Placement("toe box", "H-0012", 215, 50, 0, True),
        Placement("outer side", "H-0012", 160, 120, 0, False),
        Placement("outer side", "H-0012", 300, 120, 5, True),
        Placement("tongue", "H-0012", 232, 20, 0, False),
        Placement("tongue", "H-0012", 380, 190, 180, False),
    )
    used = sum(Polygon(p.cut_mm).area * 2 for p in pieces)
    usable = Polygon(hide().outline_mm).area
    layout = Layout(places, 6, 6, 1, used, usable, 1, 40)
    return request, layout


def placed_ring(outline: Ring, place: Placement) -> Ring:
    turn = Turn(place.x_mm, place.y_mm, place.rotation_deg, mirrored=place.mirrored)
    return turn.many(outline)
