"""What listeners answered, as the listening page saves it."""
import csv


def write_answers(file, key, who, answers):
    boxes = ["birds", "insects", "frogs", "mammals", "rain", "wind", "water", "engine", "people", "other"]
    with open(file, "w", newline="") as out:
        writer = csv.writer(out, lineterminator="\n")
        writer.writerow(["sheet", "listener", "clip", *boxes, "kinds", "fullness", "unsure", "note"])
        for line in key:
            a = answers[line["clip"]]
            note = a.get("note", "")
            writer.writerow([line["sheet"], who, line["clip"], *[int(bool(a.get(b))) for b in boxes], a["kinds"],
                             a["fullness"], 0, f"'{note}" if note.startswith("=") else note])
