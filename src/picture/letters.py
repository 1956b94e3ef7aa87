#!/usr/bin/python3
"""How letters.bin beside this was made, once, from the same face as the pages' (src/words/type): Debian's fonts-vollkorn 4.105 (SIL Open
Font License 1.1), drawn by FreeType with Debian's python3-freetype and python3-fonttools. No build runs it.
  letters.py /usr/share/fonts/truetype/vollkorn/Vollkorn-Regular.ttf letters.bin
Two sizes, each: a count (16 bits, low byte first), then by code point: code point (16 bits), width, rows, left and top of the ink from
the pen (signed), advance, all a byte and in pixels, then the ink row by row, 0 to 15, two pixels a byte, the left one high. Figures are
the lining ones of one width."""
import struct
import sys

import freetype
from fontTools.ttLib import TTFont

SIZES = (13, 23)
letters = [*range(0x20, 0x7F), *range(0xA0, 0x180), 0x2013, 0x2014, 0x2018, 0x2019, 0x201C, 0x201D, 0x2026, 0x2191, 0x2193, 0x2212]
font = TTFont(sys.argv[1])
names = dict(font.getBestCmap())
for feature in ("lnum", "tnum"):
    for record in font["GSUB"].table.FeatureList.FeatureRecord:
        if record.FeatureTag != feature:
            continue
        for index in record.Feature.LookupListIndex:
            for table in font["GSUB"].table.LookupList.Lookup[index].SubTable:
                table = getattr(table, "ExtSubTable", table)
                for code in range(0x30, 0x3A):
                    names[code] = getattr(table, "mapping", {}).get(names[code], names[code])
        break
face = freetype.Face(sys.argv[1])
out = b""
for size in SIZES:
    face.set_pixel_sizes(0, size)
    there = [code for code in letters if code in names]
    out += struct.pack("<H", len(there))
    for code in there:
        face.load_glyph(font.getGlyphID(names[code]), freetype.FT_LOAD_RENDER | freetype.FT_LOAD_TARGET_LIGHT)
        slot = face.glyph
        ink = [(value + 8) // 17 for row in range(slot.bitmap.rows) for value in slot.bitmap.buffer[row * slot.bitmap.pitch:][:slot.bitmap.width]]
        ink += [0] * (len(ink) % 2)
        out += struct.pack("<HBBbbB", code, slot.bitmap.width, slot.bitmap.rows, slot.bitmap_left, slot.bitmap_top, round(slot.advance.x / 64))
        out += bytes(high << 4 | low for high, low in zip(ink[::2], ink[1::2]))
open(sys.argv[2], "wb").write(out)
