#!/bin/sh
# How the three faces beside this were made, once: Latin letters, figures and signs out of Debian's fonts-vollkorn 4.105 (SIL Open
# Font License 1.1, LICENCE beside this), by Debian's fonttools with brotli. No build runs it.
#   sh src/words/type/subset.sh /usr/share/fonts/truetype/vollkorn
set -eu
here=$(cd "$(dirname "$0")" && pwd)
letters="U+0020-007E,U+00A0-00FF,U+0100-0107,U+010C-0113,U+0118-011B,U+012A-012B,U+0130-0131,U+0141-0144,U+0147-0148,U+014C-014D,U+0150-015B"
letters="$letters,U+0160-0161,U+016A-016B,U+016E-0171,U+0178-017E,U+2009,U+2010-2015,U+2018-201E,U+2022,U+2026,U+2030,U+2032,U+2033,U+2190-2193"
letters="$letters,U+2212,U+221E,U+2260,U+2264,U+2265"
for face in Regular Italic Bold; do
    /usr/bin/python3 -m fontTools.subset "$1/Vollkorn-$face.ttf" --unicodes="$letters" --layout-features=kern,liga,onum,lnum,tnum,pnum,smcp,ccmp,locl \
        --flavor=woff2 --no-hinting --desubroutinize --name-IDs=0,1,2,13,14 --output-file="$here/$(echo "$face" | tr A-Z a-z).woff2"
done
