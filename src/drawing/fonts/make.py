#!/usr/bin/env python3
"""Makes the fonts of paper and pictures again: Inter (SIL Open Font License 1.1, no reserved name), cut to what we print.

Needs Debian's package `fonts-inter` 4.0~beta7+ds-1 (which holds version 3.019 of the faces) and `fonttools` 4.60 or
later. Writes `regular.otf` and `bold.otf` beside this file:

    python3 make.py [FOLDER OF THE FACES]

What is changed, beside the letters left out: figures (and the signs + and −) are those of equal width, so that
columns stand under each other without asking for it; the diameter sign, which the faces lack, is Ø.
"""

import sys
from pathlib import Path

from fontTools import subset
from fontTools.ttLib import TTFont

FACES = Path(sys.argv[1] if len(sys.argv) > 1 else "/usr/share/fonts/opentype/inter")
HERE = Path(__file__).parent

LETTERS = "".join(map(chr, [*range(0x20, 0x7F), *range(0xA0, 0x149), *range(0x14A, 0x180)]))
GREEK = "ΑΒΓΔΕΖΗΘΙΚΛΜΝΞΟΠΡΣΤΥΦΧΨΩαβγδεζηθικλμνξοπρςστυφχψω"
SIGNS = (
    "–—‘’‚“”„†•…‰′″‹›€←↑→↓↔−∂∅∆∏∑√∞∫≈≠≤≥⁰⁴⁵⁶⁷⁸⁹⁺⁻ⁿ₀₁₂₃₄✓✗●○◆◇■□▲▼"
    "\u2007\u2009\u2012\u202f"
)
DIAMETER = 0x2300


def make(face: str, name: str) -> None:
    font = TTFont(FACES / face, recalcTimestamp=False)
    tables = [table.cmap for table in font["cmap"].tables if table.isUnicode()]
    equal = {}
    for record in font["GSUB"].table.FeatureList.FeatureRecord:
        if record.FeatureTag != "tnum":
            continue
        for index in record.Feature.LookupListIndex:
            for part in font["GSUB"].table.LookupList.Lookup[index].SubTable:
                part = getattr(part, "ExtSubTable", part)
                equal.update(getattr(part, "mapping", {}))
    for cmap in tables:
        for sign in "0123456789+−":
            if ord(sign) in cmap:
                cmap[ord(sign)] = equal.get(cmap[ord(sign)], cmap[ord(sign)])
        cmap[DIAMETER] = cmap[ord("Ø")]
    options = subset.Options(
        layout_features=["kern", "mark", "mkmk", "ccmp"],
        hinting=False,
        name_IDs=[0, 1, 2, 4, 6, 13, 14, 16, 17],
        notdef_outline=True,
        drop_tables=["DSIG", "GDEF.LigCaretList", "STAT"],
    )
    cutter = subset.Subsetter(options)
    cutter.populate(unicodes=[*map(ord, LETTERS + GREEK + SIGNS), DIAMETER])
    cutter.subset(font)
    font.save(HERE / name)
    widths = [font["hmtx"][font.getBestCmap()[ord(figure)]][0] for figure in "0123456789"]
    spread = (max(widths) - min(widths)) / font["head"].unitsPerEm
    assert spread < 0.002, f"figures of {face} are not of equal width: {widths}"
    missing = [sign for sign in LETTERS + GREEK + SIGNS if ord(sign) not in font.getBestCmap()]
    print(f"{name}: {(HERE / name).stat().st_size} bytes, not in the face: {missing}")


make("Inter-Regular.otf", "regular.otf")
make("Inter-SemiBold.otf", "bold.otf")
