"""Files nobody should have to read, made from a fixed seed: for every address that takes one.

What is attacked is after OWASP ASVS 5.0, 5.2.1-5.2.6 (size, type, content and expansion of files),
and OWASP WSTG BUSL-08 and 09; the values are ours.
"""

import gzip
import io
import json
import random
import struct
import zipfile
import zlib

SEED = 20310304
ODD_NAMES = [
    "../../etc/passwd",
    "..\\..\\boot.ini",
    "/etc/shadow",
    "con",
    "a" * 300,
    "nul\x00.svg",
    "semi;colon",
    "quote\"quote'",
    "\u202egvs.exe",
    "line\r\nSet-Cookie: x=1",
    "",
    ".",
    "~",
    "$(id)",
]


def _svg(inside="", attributes='width="100mm" height="100mm" viewBox="0 0 100 100"', head=""):
    return f'{head}<svg xmlns="http://www.w3.org/2000/svg" {attributes}>{inside}</svg>'.encode()


def _entities(levels=12):
    rows = ['<!ENTITY a0 "boot">']
    rows += [f'<!ENTITY a{n} "{f"&a{n - 1};" * 10}">' for n in range(1, levels)]
    return f'<?xml version="1.0"?><!DOCTYPE svg [{"".join(rows)}]>'


def _uses(levels=20):
    defs = '<g id="g0"><path d="M0 0h9v9z"/></g>'
    for n in range(1, levels):
        defs += f'<g id="g{n}">{f"""<use href="#g{n - 1}"/>""" * 10}</g>'
    return _svg(f'<defs>{defs}</defs><use href="#g{levels - 1}"/>')


def svgs(chance):
    """Yield SVG files."""
    many = " ".join(f"L{chance.random() * 90:.2f} {chance.random() * 90:.2f}" for _ in range(60000))
    outside = '<!DOCTYPE svg [<!ENTITY x SYSTEM "file:///etc/passwd">]>'
    yield _svg("&a11;", head=_entities())
    yield _svg("&x;", head=outside)
    yield _svg(head='<!DOCTYPE svg [<!ENTITY % d SYSTEM "http://127.0.0.1:9/x.dtd"> %d;]>')
    yield _uses()
    yield _svg("<g>" * 50_000 + "</g>" * 50_000)
    yield _svg(f'<path d="M0 0 {many} Z"/>')
    yield _svg(f'<path d="M0 0 {many * 4} Z"/>')  # hundreds of thousands of points
    yield _svg('<path d="M0 0 L1e308 1e308 L-1e308 9 Z"/>')
    yield _svg('<path d="M0 0 LNaN 5 L9 Infinity Z"/>')
    yield _svg('<path d="M0 0 L1e999 5 L9 9 Z"/>')
    yield _svg('<path d="M0 0 A 1e9 1e9 0 0 1 50 50 A 0 0 0 0 1 1 1 Z"/>')
    yield _svg('<path d="' + "M0 0 z " * 100_000 + '"/>')
    yield _svg('<path d="M0 0 L10 10 L10 0 L0 10 Z"/>')  # crosses itself
    yield _svg('<path d="M0 0 L0 0 L0 0 Z"/>')
    yield _svg('<path d="rubbish \u0000 here"/>')
    yield _svg('<path d="M0 0h9v9z" transform="scale(1e300) scale(1e300)"/>')
    yield _svg('<path d="M0 0h9v9z" transform="' + "rotate(1) " * 50_000 + '"/>')
    yield _svg('<path d="M0 0h9v9z" style="stroke:url(http://127.0.0.1:9/)"/>')
    yield _svg('<image href="file:///etc/passwd" width="9" height="9"/>')
    yield _svg('<script>fetch("http://127.0.0.1:9")</script><path d="M0 0h90v90z"/>')
    yield _svg('<foreignObject><iframe src="http://127.0.0.1:9"/></foreignObject>')
    yield _svg('<path d="M0 0h90v90z"/>', attributes='width="NaNmm" height="1e999mm"')
    yield _svg('<path d="M0 0h90v90z"/>', attributes='viewBox="0 0 0 0" width="1mm" height="1mm"')
    yield _svg('<path d="M0 0h90v90z"/>', attributes='width="5parsec" height="5parsec"')
    yield _svg("<text>words only</text>")
    yield _svg("<rect width='-5' height='1e400'/>" * 3)
    yield _svg("<polygon points='" + "1,1 " * 400_000 + "'/>")
    yield _svg("<circle r='1e-320'/>")
    yield '<?xml version="1.0" encoding="UTF-32"?><svg/>'.encode("utf-16")
    yield b'<?xml version="1.0" encoding="no-such-code"?><svg/>'
    yield _svg().decode().encode("utf-16-le")


def _dxf(*pairs):
    return "".join(f"{code:>3}\n{value}\n" for code, value in pairs).encode()


def _entities_section(*pairs):
    return _dxf((0, "SECTION"), (2, "ENTITIES"), *pairs, (0, "ENDSEC"), (0, "EOF"))


def _polyline(points, **more):
    rows = [(0, "LWPOLYLINE"), (8, "0"), (90, len(points)), (70, 1)]
    for x, y in points:
        rows += [(10, x), (20, y)]
    return rows + list(more.get("rows", []))


def dxfs(chance):
    """Yield DXF files."""
    square = [(0, 0), (90, 0), (90, 90), (0, 90)]
    units = [(0, "SECTION"), (2, "HEADER"), (9, "$INSUNITS"), (70, 99), (0, "ENDSEC")]
    blocks = [(0, "SECTION"), (2, "BLOCKS")]
    for n in range(12):  # each holds the one before ten times
        blocks += [(0, "BLOCK"), (2, f"B{n}"), (10, 0), (20, 0)]
        blocks += [(0, "INSERT"), (2, f"B{n - 1}"), (10, 0), (20, 0)] * (10 if n else 0)
        blocks += _polyline(square) if not n else []
        blocks += [(0, "ENDBLK")]
    blocks += [(0, "ENDSEC")]
    itself = [(0, "SECTION"), (2, "BLOCKS"), (0, "BLOCK"), (2, "B"), (0, "INSERT"), (2, "B")]
    many = [(chance.random() * 90, chance.random() * 90) for _ in range(82_000)]
    yield _dxf(*units) + _entities_section(*_polyline(square))
    yield _dxf(*blocks) + _entities_section((0, "INSERT"), (2, "B11"), (10, 0), (20, 0))
    yield _dxf(*itself, (0, "ENDBLK"), (0, "ENDSEC")) + _entities_section((0, "INSERT"), (2, "B"))
    yield _entities_section(*_polyline(many))
    yield _entities_section(*_polyline([(0, "nan"), ("inf", 0), (5, 5)]))
    yield _entities_section(*_polyline([(0, 0), ("1e308", 0), (5, "-1e308")]))
    yield _entities_section(*_polyline([(0, 0), ("1e999", 0), (5, 5)]))
    yield _entities_section((0, "LWPOLYLINE"), (90, 2**31), (70, 1))
    yield _entities_section((0, "LWPOLYLINE"), (90, "many"), (70, "closed"), (10, "x"), (20, "y"))
    yield _entities_section((0, "SPLINE"), (70, 8), (71, 99), (72, 10**9), (73, 10**9))
    yield _entities_section((0, "SPLINE"), (71, 3), (40, "nan"), (10, 0), (20, 0))
    yield _entities_section((0, "ARC"), (10, 0), (20, 0), (40, "1e300"), (50, 0), (51, 1e300))
    yield _entities_section((0, "CIRCLE"), (10, 0), (20, 0), (40, -5))
    yield _entities_section((0, "ELLIPSE"), (10, 0), (20, 0), (11, 0), (21, 0), (40, 0))
    yield _entities_section(*_polyline(square, rows=[(42, "1e308")]))
    yield _entities_section((0, "3DFACE"), (10, 1), (11, 2))
    yield _entities_section((0, "TEXT"), (1, "x" * 100_000))
    yield b"AutoCAD Binary DXF\r\n\x1a\x00" + chance.randbytes(4000)
    yield b"999\n" * 200_000
    yield b"  0\nSECTION\n"
    yield _entities_section(*_polyline(square))[:-20]
    yield b"0\n\x00SECTION\n2\nENTITIES\n0\nEOF\n"


def _nested(depth, opening=b"[", closing=b"]"):
    return opening * depth + closing * depth


def jsons(chance):
    """Yield JSON files."""
    points = [[chance.random() * 90, chance.random() * 90] for _ in range(200_000)]
    yield _nested(100_000)
    yield b'{"a":' * 50_000 + b"1" + b"}" * 50_000
    yield b'{"outer": [[0,0],[NaN,0],[5,5]]}'
    yield b'{"outer": [[0,0],[Infinity,0],[5,5]]}'
    yield b'{"outer": [[0,0],[1e999,0],[5,5]]}'
    yield b'{"outer": [[0,0],[' + b"9" * 50_000 + b",0],[5,5]]}"
    yield json.dumps({"outer": points}).encode()
    yield json.dumps({"unit": "mm", "sole_outline": points}).encode()
    yield b'{"unit": "mm", "unit": "inch", "outer": [[0,0],[9,0],[9,9]]}'
    yield b'{"outer": [[0,0],[10,10],[10,0],[0,10]]}'
    yield b'{"outer": {"0": [0,0]}, "unit": "furlong"}'
    yield b'{"measures": {"foot_length": "\\ud800"}}'
    yield b'{"measures": {"foot_length": "75\\u0000"}}'
    yield b'{"measures": {"foot_length": true}, "unit": 7}'
    yield b'{"customers": [{"name": null, "code": -1}], "dolls": "many"}'
    yield b'{"schema": "library/1", "customers": [{}], "dolls": [[]], "feet": [1]}'
    yield b"\xff\xfe" + json.dumps({"a": 1}).encode("utf-16-le")
    yield b'{"a": "\xff\xfe\xfd"}'
    yield b'{"a": 1'
    yield b"null"
    yield b"[]"
    yield b"{}{}"
    yield b'"' + b"x" * 500_000
    yield b'{"outer": ' + json.dumps([[n, n] for n in range(3)]).encode() + b"}"


def csvs(chance):
    """Yield tables."""
    rows = "\n".join(f"{n},{chance.random() * 90:.3f}" for n in range(1_000_000))
    yield f"x,y\n{rows}\n".encode()[: 12 * 1024 * 1024]
    yield b"x_mm,y_mm\n0,0\nnan,5\ninf,9\n"
    yield b"x_mm,y_mm\n0,0\n1e999,5\n-1e308,9\n"
    yield b"x_mm,y_mm\n0,0\n=cmd|'/c calc'!A1,5\n@SUM(1),2\n"
    yield b"x_mm,y_mm\n" + b"," * 2_000_000
    yield b'x_mm,y_mm\n"' + b"0," * 500_000
    yield b"x_mm;y_mm\n0,5;0,7\n0;0;0;0\n"
    yield b"x_furlong,y_furlong\n0,0\n9,0\n9,9\n"
    yield b"x_mm,y_mm\n\x000,0\x00\n9,0\n9,9\n"
    yield "x_mm,y_mm\n0,0\n9,0\n9,9\n".encode("utf-16")
    yield "x_mm,y_mm\n٠,٠\n٩,٠\n٩,٩\n".encode()
    yield b"\xef\xbb\xbf" * 3 + b"x,y\n1,1\n"
    yield b"kind,code,name\ncustomer,C-99999999999999999999,x\n"
    yield b"kind,code,name\n" + b"doll,D-1," + b"n" * 100_000 + b"\n"
    yield b"kind,kind,kind\n1,2,3\n"
    yield b"\r" * 100_000
    yield b"\n"


def meshes(chance):
    """Yield meshes with the ending each is sent under."""
    facet = struct.pack("<12fH", *[0.0] * 12, 0)
    yield ".stl", b"\0" * 80 + struct.pack("<I", 2**32 - 1) + facet
    yield ".stl", b"\0" * 80 + struct.pack("<I", 3) + facet
    yield ".stl", b"\0" * 80 + struct.pack("<I", 1) + struct.pack("<12fH", *[float("nan")] * 12, 0)
    yield ".stl", b"\0" * 80 + struct.pack("<I", 1) + struct.pack("<12fH", *[3.4e38] * 12, 0)
    yield ".stl", b"solid x\n" + b"facet normal 0 0 0\n outer loop\n" * 20_000
    yield ".stl", b"solid x\nfacet normal a b c\nouter loop\nvertex nan inf 1e999\n"
    yield ".stl", b"solid"
    yield ".stl", chance.randbytes(84 + 50 * 500)
    yield ".obj", b"v 0 0 0\nv nan 0 0\nv 0 inf 0\nf 1 2 3\n"
    yield ".obj", b"v 0 0 0\nv 1 0 0\nv 0 1 0\nf 1 2 999999999999\nf -9 -8 -7\nf 0 0 0\n"
    yield ".obj", b"v 0 0 0\n" * 1_000_000 + b"f 1 2 3\n"
    yield ".obj", b"v 0 0 0\nv 1 0 0\nv 0 1 0\n" + b"f 1 2 3\n" * 300_000
    yield ".obj", b"f " + b"1 " * 500_000 + b"\nv 0 0 0\n"
    yield ".obj", b"v " + b"9" * 400_000 + b" 0 0\nf 1 1 1\n"
    yield ".obj", b"mtllib ../../../etc/passwd\nusemtl x\nv 0 0 0\n"
    yield ".obj", "v 0 0 0\nf 1 1 1\n".encode("utf-16")
    yield ".obj", b"\0" * 100_000
    head = "ply\nformat {0} 1.0\nelement vertex {1}\nproperty float x\nproperty float y\n"
    head += (
        "property float z\nelement face {2}\nproperty list uchar int vertex_indices\nend_header\n"
    )
    yield ".ply", head.format("ascii", 10**12, 10**12).encode()
    yield ".ply", head.format("binary_little_endian", 10**9, 1).encode() + chance.randbytes(999)
    yield ".ply", head.format("ascii", -5, "x").encode()
    yield ".ply", head.format("ascii", 3, 1).encode() + b"nan nan nan\n" * 3 + b"3 0 1 2\n"
    yield ".ply", head.format("binary_little_endian", 1, 1).encode() + b"\0" * 12 + b"\xff" * 5
    yield ".ply", b"ply\nformat ascii 1.0\n" + b"element a 1\nproperty float x\n" * 20_000
    yield ".ply", b"ply\nend_header\n"


def _png(width, height, data=b""):
    def chunk(kind, content):
        body = kind + content
        return struct.pack(">I", len(content)) + body + struct.pack(">I", zlib.crc32(body))

    header = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    packed = zlib.compress(data)
    marks = chunk(b"IHDR", header) + chunk(b"IDAT", packed) + chunk(b"IEND", b"")
    return b"\x89PNG\r\n\x1a\n" + marks


def photographs(chance):
    """Yield pictures that are none, or far too much of one."""
    from PIL import Image

    stream = io.BytesIO()
    Image.frombytes("RGB", (64, 64), chance.randbytes(64 * 64 * 3)).save(stream, "JPEG")
    whole = stream.getvalue()
    yield _png(50_000, 50_000, b"\0" * 10_000_000)
    yield _png(2**31 - 1, 2**31 - 1)
    yield _png(0, 0)
    yield _png(5000, 5000, b"\0")
    yield whole[: len(whole) // 2]
    yield whole[:20]
    yield whole.replace(b"\xff\xc0", b"\xff\xc9")
    yield b"GIF89a\xff\xff\xff\xff\x00\x00\x00"
    yield b"RIFF\xff\xff\xff\xffWEBPVP8X" + chance.randbytes(300)
    yield b"II*\x00\xff\xff\xff\xff" + chance.randbytes(200)
    yield _svg("<script/>")
    yield b"<html><script>alert(1)</script></html>"
    yield b"%PDF-1.7\n" + chance.randbytes(100)
    yield b"%!PS\n(run) exec"
    yield b""


def others(chance):
    """Yield files that are something else, under whatever name."""
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("../../outside.svg", b"x")
        archive.writestr("bomb.json", b"\0" * 30_000_000)
    yield packed.getvalue()
    yield gzip.compress(b"\0" * 30_000_000)
    yield chance.randbytes(5000)
    yield b""
    yield b"\0"
    yield b"\x7fELF" + chance.randbytes(500)
    yield "\ufeff\u202e".encode() * 1000


def bad_files():
    """Return (name, content) of every bad file by what it is sent as."""
    chance = random.Random(SEED)
    outlines = [
        (f"a.{kind}", content)
        for kind, make in (("svg", svgs), ("dxf", dxfs), ("json", jsons), ("csv", csvs))
        for content in make(chance)
    ]
    rest = list(others(chance))
    outlines += [
        (f"b{n}.{kind}", content)
        for kind in ("svg", "dxf", "json", "csv")
        for n, content in enumerate(rest)
    ]
    outlines += [(f"{name}.svg", _svg()) for name in ODD_NAMES] + [("no ending", b"x,y\n1,1\n")]
    solids = [(f"a{ending}", content) for ending, content in meshes(chance)]
    solids += [
        (f"b{n}.{kind}", content)
        for kind in ("stl", "obj", "ply")
        for n, content in enumerate(rest)
    ]
    solids += [(f"{name}.obj", b"v 0 0 0\n") for name in ODD_NAMES]
    pictures = [("a.jpg", content) for content in photographs(chance)]
    pictures += [(f"b{n}.png", content) for n, content in enumerate(rest)]
    pictures += [(f"{name}.jpg", b"no picture") for name in ODD_NAMES]
    return {"outline": outlines, "mesh": solids, "picture": pictures}
