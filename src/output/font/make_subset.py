"""Make the chart font: a small subset of Open Sans with plain outlines.

Usage: python make_subset.py IN.ttf OUT.ttf
Needs fonttools (written with 4.60). Run once a weight; the results are committed, so a build
needs neither Python nor the full fonts.

What it changes: keeps only the characters below; drops hinting, kerning and layout tables; turns
accented letters (built from parts in the source) into single outlines, so that each letter is one shape
that a picture can store once; renames the font, as the result is not the original.
"""
import sys

from fontTools import subset
from fontTools.pens.recordingPen import DecomposingRecordingPen
from fontTools.pens.ttGlyphPen import TTGlyphPen
from fontTools.ttLib import TTFont

CHARACTERS = (
    [(0x20, 0x7E), (0xA0, 0x17F)]  # Latin
    + [(0x384, 0x3CE)]  # Greek
    + [(0x401, 0x45F)]  # Cyrillic
    + [(c, c) for c in (0x2010, 0x2011, 0x2013, 0x2014, 0x2018, 0x2019, 0x201A, 0x201C, 0x201D,
                        0x201E, 0x2020, 0x2022, 0x2026, 0x202F, 0x2030, 0x2032, 0x2033, 0x20AC,
                        0x2126, 0x2206, 0x2212, 0x221E, 0x2248, 0x2260, 0x2264, 0x2265)]
)

font = TTFont(sys.argv[1])
options = subset.Options()
options.hinting = False
options.layout_features = []
options.legacy_kern = False
options.name_IDs = [0, 1, 2, 3, 4, 5, 6, 13, 14]
options.notdef_outline = True
options.glyph_names = False
options.drop_tables += ["GDEF", "GPOS", "GSUB", "kern", "DSIG", "gasp", "FFTM"]
subsetter = subset.Subsetter(options)
subsetter.populate(unicodes=[c for low, high in CHARACTERS for c in range(low, high + 1)])
subsetter.subset(font)

glyphs = font.getGlyphSet()
for name in font.getGlyphOrder():
    if font["glyf"][name].isComposite():
        recording = DecomposingRecordingPen(glyphs)
        glyphs[name].draw(recording)
        pen = TTGlyphPen(None)
        recording.replay(pen)
        font["glyf"][name] = pen.glyph()

# Open Sans has no arrows; these four are ours. Seven corners each, on the height of the minus sign.
ARROW = [(100, 490), (850, 490), (850, 300), (1180, 560), (850, 820), (850, 630), (100, 630)]
TURNS = {
    0x2192: lambda x, y: (x, y),
    0x2190: lambda x, y: (1280 - x, 1120 - y),
    0x2191: lambda x, y: (1200 - y, x - 80),
    0x2193: lambda x, y: (y + 80, 1200 - x),
}
for code, turn in TURNS.items():
    pen = TTGlyphPen(None)
    corners = [turn(x, y) for x, y in reversed(ARROW)]
    pen.moveTo(corners[0])
    for corner in corners[1:]:
        pen.lineTo(corner)
    pen.closePath()
    name = f"uni{code:04X}"
    font.setGlyphOrder(font.getGlyphOrder() + [name])
    font["glyf"][name] = pen.glyph()
    font["hmtx"][name] = (1280, min(x for x, _ in corners))
    for table in font["cmap"].tables:
        table.cmap[code] = name

for record in font["name"].names:
    text = record.toUnicode()
    if record.nameID in (1, 3, 4):
        record.string = text.replace("Open Sans", "Dogdays Chart").replace("Ascender - ", "")
    elif record.nameID == 6:
        record.string = text.replace("OpenSans", "DogdaysChart")
font["head"].modified = font["head"].created
font.recalcTimestamp = False
font.save(sys.argv[2])
