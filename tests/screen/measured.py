"""Runs the program's own measuring over samples held in memory, through the small program beside this file."""
import subprocess

import numpy as np


class Meter:
    def __init__(self, program):
        self.process = subprocess.Popen([program], stdin=subprocess.PIPE, stdout=subprocess.PIPE)
        self.columns = self.process.stdout.readline().decode().strip().split(",")

    def __call__(self, samples, rate):
        """{column: number, NaN where missing} and the set of flags of one segment of 16-bit samples."""
        samples = np.ascontiguousarray(samples, np.int16)
        self.process.stdin.write(np.array([rate, len(samples)], np.int32).tobytes() + samples.tobytes())
        self.process.stdin.flush()
        fields = self.process.stdout.readline().decode().rstrip("\n").split(",")
        values = {c: float(v) if v else np.nan for c, v in zip(self.columns[:-1], fields)}
        return values, set(filter(None, fields[-1].split(";")))

    def close(self):
        self.process.stdin.close()
        return self.process.wait()
