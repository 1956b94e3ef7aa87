"""read_png.py PICTURE OUT: writes the pixels of a palette PNG as red, green, blue bytes.

An independent reader after the PNG specification (chunks, CRC, filters 0 to 4), on zlib and struct alone.
"""
import struct
import sys
import zlib


def chunks(data):
    assert data[:8] == b"\x89PNG\r\n\x1a\n", "signature"
    at = 8
    while at < len(data):
        length, kind = struct.unpack(">I4s", data[at : at + 8])
        body = data[at + 8 : at + 8 + length]
        (crc,) = struct.unpack(">I", data[at + 8 + length : at + 12 + length])
        assert crc == zlib.crc32(kind + body), f"CRC of {kind}"
        yield kind, body
        at += 12 + length


def unfilter(kind, line, above):
    for i in range(len(line)):
        left = line[i - 1] if i else 0
        up, corner = above[i], above[i - 1] if i else 0
        if kind == 1:
            line[i] = (line[i] + left) & 255
        elif kind == 2:
            line[i] = (line[i] + up) & 255
        elif kind == 3:
            line[i] = (line[i] + (left + up) // 2) & 255
        elif kind == 4:
            guess = left + up - corner
            near = min((abs(guess - v), order, v) for order, v in enumerate((left, up, corner)))[2]
            line[i] = (line[i] + near) & 255
    return line


def read(path):
    parts, palette, width, height, depth = b"", b"", 0, 0, 0
    for kind, body in chunks(open(path, "rb").read()):
        if kind == b"IHDR":
            width, height, depth, colour, *rest = struct.unpack(">IIBBBBB", body)
            assert colour == 3 and rest == [0, 0, 0], "a palette picture, not interlaced"
        elif kind == b"PLTE":
            palette = body
        elif kind == b"IDAT":
            parts += body
    data = zlib.decompress(parts)
    stride = (width * depth + 7) // 8
    assert len(data) == height * (stride + 1), "size of the pixel data"
    above, rows = bytearray(stride), []
    for y in range(height):
        start = y * (stride + 1)
        above = unfilter(data[start], bytearray(data[start + 1 : start + 1 + stride]), above)
        places = [above[x * depth // 8] >> (8 - depth - x * depth % 8) & ((1 << depth) - 1) for x in range(width)]
        rows.append([palette[3 * p : 3 * p + 3] for p in places])
    return rows


if __name__ == "__main__":
    with open(sys.argv[2], "wb") as out:
        for row in read(sys.argv[1]):
            out.write(b"".join(row))
