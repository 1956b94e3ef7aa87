"""What the attacks share: a survey beside things that are none of the program's business, and a look at those before
and after."""
import hashlib
import os
import pathlib
import sys

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[1]))
import support  # noqa: E402
from support import noise, wav  # noqa: E402

COMMANDS = ("check", "measure", "tabulate", "contrast", "report", "verify")
SITES = ("K1", "K2", "H1", "H2")


def listing(root, without=None):
    """Every path below root with its kind, link target, content and mode; `without` is left out."""
    found = {}
    for folder, folders, files in os.walk(os.fsencode(root)):
        if without and os.fsencode(without) == folder:
            folders[:] = []
            continue
        for name in folders + files:
            path = os.path.join(folder, name)
            status = os.lstat(path)
            if os.path.islink(path):
                what = os.readlink(path)
            elif os.path.isfile(path):
                with open(path, "rb") as file:
                    what = hashlib.sha256(file.read()).hexdigest()
            else:
                what = "folder"
            found[path] = (status.st_mode, what)
    return found


class AttackTest(support.SurveyTest):
    """self.folder/survey is the survey; everything else in self.folder must stay as it is."""

    def setUp(self):
        super().setUp()
        outside = self.folder / "outside"
        (outside / "sub").mkdir(parents=True)
        (outside / "precious.txt").write_text("precious\n")
        (outside / "precious_20310504_053000.wav").write_bytes(wav(noise(2, 77)))
        self.outside = outside
        self.survey = self.folder / "survey"

    def fill(self, **options):
        self.sheets(self.survey, **options)
        for number, site in enumerate(SITES):
            self.put(self.survey, site, "20310504_053000", wav(noise(4, number, tone=5000 if site[0] == "K" else 0)))

    def before(self):
        self.seen = listing(self.folder, without=self.survey)

    def assert_nothing_outside_changed(self):
        self.assertEqual(listing(self.folder, without=self.survey), self.seen)
