#!/usr/bin/env python3
"""Draws the signs that the toolkit's text fonts lack: minus, arrows, tick, crosses, the
triangle of what drops down; and spaces. Needs fontTools (Debian: python3-fonttools).

    python3 assets/signs/signs.py assets/signs

The vertical measures are those of the text fonts, so that a line with a sign in it is as
high as one without.
"""
import math
import sys

from fontTools.fontBuilder import FontBuilder
from fontTools.pens.ttGlyphPen import TTGlyphPen

EM, ASCENT, DESCENT = 1000, 1069, -293
MIDDLE = 353  # the height of the middle of + and =


def stroke(pen, thick, *points):
    """Draws a line of even thickness, its corners joined by squares."""
    for (x0, y0), (x1, y1) in zip(points, points[1:]):
        long = math.hypot(x1 - x0, y1 - y0)
        ux, uy = (x1 - x0) / long, (y1 - y0) / long
        nx, ny = -uy * thick / 2, ux * thick / 2
        area(pen, (x0 + nx, y0 + ny), (x1 + nx, y1 + ny), (x1 - nx, y1 - ny), (x0 - nx, y0 - ny))
    for x, y in points[1:-1]:
        disc(pen, x, y, thick / 2)


def disc(pen, x, y, r):
    area(pen, *[(x + r * math.cos(-2 * math.pi * i / 16), y + r * math.sin(-2 * math.pi * i / 16)) for i in range(16)])


def area(pen, *points):
    rounded = [(round(x), round(y)) for x, y in points]
    pen.moveTo(rounded[0])
    for p in rounded[1:]:
        pen.lineTo(p)
    pen.closePath()


def arrow(turn):
    """An arrow to the right, turned by so many quarters."""
    def draw(pen, thick):
        def at(x, y):
            for _ in range(turn):
                x, y = -y, x
            return 500 + x, MIDDLE + y
        stroke(pen, thick, at(-400, 0), at(390, 0))
        stroke(pen, thick, at(190, 210), at(400, 0), at(190, -210))
    return draw


def cross(pen, thick):
    stroke(pen, thick, (150, 110), (630, 590))
    stroke(pen, thick, (150, 590), (630, 110))


def nothing(pen, thick):
    """A space: one that follows a sign is looked for where the sign came from."""


SIGNS = {
    0x20: ('space', 260, nothing),
    0xa0: ('nobreakspace', 260, nothing),
    0x2190: ('arrowleft', 1000, arrow(2)),
    0x2191: ('arrowup', 1000, arrow(1)),
    0x2192: ('arrowright', 1000, arrow(0)),
    0x2193: ('arrowdown', 1000, arrow(3)),
    0x2212: ('minus', 572, lambda pen, thick: stroke(pen, thick, (50, MIDDLE), (522, MIDDLE))),
    0x25be: ('triangledown', 640, lambda pen, thick: area(pen, (100, 480), (540, 480), (320, 190))),
    0x2713: ('tick', 800, lambda pen, thick: stroke(pen, thick * 1.1, (110, 330), (300, 110), (690, 620))),
    0x2717: ('cross', 780, cross),
}


def build(path, style, thick):
    fb = FontBuilder(EM, isTTF=True)
    glyphs, widths, names = {'.notdef': TTGlyphPen(None).glyph()}, {'.notdef': (500, 0)}, {}
    for code, (name, width, draw) in SIGNS.items():
        pen = TTGlyphPen(None)
        draw(pen, thick)
        glyphs[name] = pen.glyph()
        names[code] = name
        widths[name] = (width, 0)
    fb.setupGlyphOrder(list(glyphs))
    fb.setupCharacterMap(names)
    fb.setupGlyf(glyphs)
    table = fb.font['glyf']
    fb.setupHorizontalMetrics({n: (w, getattr(table[n], 'xMin', 0) or 0) for n, (w, _) in widths.items()})
    fb.setupHorizontalHeader(ascent=ASCENT, descent=DESCENT)
    fb.setupNameTable({'familyName': 'Firstsheet Signs', 'styleName': style})
    fb.setupOS2(sTypoAscender=ASCENT, sTypoDescender=DESCENT, usWinAscent=ASCENT, usWinDescent=-DESCENT)
    fb.setupPost()
    fb.updateHead(created=0, modified=0)
    fb.font.recalcTimestamp = False
    fb.save(path)


if __name__ == '__main__':
    for style, thick in (('Regular', 78), ('Bold', 112)):
        build(f'{sys.argv[1]}/{style.lower()}.ttf', style, thick)
