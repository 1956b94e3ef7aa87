"""Sizes that no person made: each costs neither time nor memory, and is told in one line."""
import os
import resource
import struct
import subprocess
import unittest

from attack_support import AttackTest
from support import BINARY, noise, wav

MEMORY = 1 << 30  # bytes of address space; the program's threads and libraries fit, 4 GB do not


def bounded():
    resource.setrlimit(resource.RLIMIT_AS, (MEMORY, MEMORY))


class Sizes(AttackTest):
    def bounded_run(self, *arguments, expect):
        # A sanitizer's shadow memory takes terabytes of addresses.
        result = subprocess.run([BINARY, *map(str, arguments)], capture_output=True, text=True, timeout=120,
                                preexec_fn=None if os.environ.get("HEARWOOD_SANITIZED") else bounded)
        self.assertEqual(result.returncode, expect, result.stdout + result.stderr)
        return result

    def test_a_sheet_of_100000_columns(self):
        self.fill(sites="site,latitude,longitude,nutrient_status," + ",".join(f"c{n}" for n in range(100_000)) + "\n")
        for command in ("check", "run"):
            err = self.bounded_run(command, self.survey, "--jobs", 2, expect=2).stderr
            self.assertIn("sites.csv:1:4097: more than 4096 columns", err)
            self.assertLess(len(err), 4000)

    def test_headers_that_claim_4_gb(self):
        self.fill(segment_s=60)
        card = self.survey / "recordings" / "DK1"
        good = wav(noise(2, 1))
        # The data chunk, another chunk before it, and the format chunk claim all that 32 bits can say.
        (card / "data_20310504_010000.wav").write_bytes(good[:40] + b"\xff\xff\xff\xff" + good[44:])
        (card / "list_20310504_010100.wav").write_bytes(good[:36] + b"LIST\xfe\xff\xff\xff" + good[36:])
        (card / "fmt_20310504_010200.wav").write_bytes(good[:16] + b"\xfe\xff\xff\xff" + good[20:])
        # FLAC: a metadata block of 16 MB that is not there; total samples of 2^36 - 1.
        stream = struct.pack(">HH", 4096, 4096) + bytes(6) + ((24000 << 44 | 15 << 36 | (1 << 36) - 1)).to_bytes(8, "big")
        (card / "block_20310504_010300.flac").write_bytes(b"fLaC\x84\xff\xff\xff" + stream)
        (card / "total_20310504_010400.flac").write_bytes(b"fLaC\x80\x00\x00\x22" + stream + bytes(16))
        self.bounded_run("run", self.survey, "--quiet", "--jobs", 2, expect=1)
        recordings = self.table(self.survey, "recordings.csv").set_index("file")
        states = {name.split("/")[-1].split("_")[0]: state for name, state in recordings.state.items()}
        self.assertEqual(states["data"], "damaged")
        # Behind the FLAC header that promises so much there is not one frame.
        for name in ("list", "fmt", "block", "total"):
            self.assertEqual(states[name], "unreadable", name)
        self.assertEqual(states["K1"], "measured")
        for note in recordings.note[recordings.state != "measured"]:
            self.assertTrue(note)

    def test_deep_folders_end_somewhere_and_are_told(self):
        self.fill()
        deep = self.survey / "recordings" / "DK1"
        for _ in range(100):
            deep /= "d"
        deep.mkdir(parents=True)
        (deep / "deep_20310504_060000.wav").write_bytes(wav(noise(2, 1)))
        result = self.bounded_run("check", self.survey, "--quiet", "--jobs", 2, expect=1)
        self.assertIn("ore than 64 folders inside each other", " ".join(result.stdout.split()))
        self.bounded_run("measure", self.survey, "--quiet", "--jobs", 2, expect=1)


if __name__ == "__main__":
    unittest.main()
