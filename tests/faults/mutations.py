#!/usr/bin/python3
"""A check on the tests themselves: each fault below, put into offload, store or forget by hand, must be found by some test.
Not part of the default suite, since every fault is a build.

    mutations.py SOURCE BUILD [NAME...]

SOURCE is copied to a temporary folder and built there with the compiler's options of the folder BUILD. Prints one line a fault,
and exits 1 when one of them passes unseen.
"""
import os
import pathlib
import shutil
import subprocess
import sys
import tempfile

# name, file below src/, what stands there, what the fault makes of it, the tests of which one must fail
FAULTS = [
    ("a spoilt copy counts", "card/closing_pass.cpp", "if (back.sha256 != file.sha256)", "if (false)", ["attack/proof_check.py"]),
    ("copies are not read back before they get their names", "card/copy_pipeline.cpp",
     "if (disk.hash(copy.temporary()).sha256 == copied.sha256) continue;", "if (true) continue;",
     ["card/offload_check.py a_disk_that_reads_back_wrongly"]),
    # That error_of_rename_to_new looks before it renames is seen nowhere on Linux: the kernel looks, whatever the file system.
    ("a file of the same name is overwritten", "card/copy_target.cpp", "const int error = replaces_ ?", "const int error = true ?",
     ["attack/disk_check.py Disks.test_a_name_taken_behind_our_back_is_refused_with_both"]),
    ("capitals are not looked at", "card/file_copier.cpp", "const auto at = folds ?", "const auto at = false ?",
     ["attack/disk_check.py"]),
    ("the card is not listed again", "card/judge_copies.cpp", "if (result_.stopped.empty() && !result_.interrupted) list_again();", "",
     ["attack/disk_check.py"]),
    ("one disk is enough", "card/verdict.cpp", "if (one_copy) return {};", "return {};", ["attack/proof_check.py"]),
    ("recordings in dot folders are nobody's affair", "card/verdict.cpp", "dotted > 0)", "dotted > 1'000'000)", ["attack/proof_check.py"]),
    ("what SHA256SUMS says of a changed copy is believed", "card/file_copier.cpp", "if (recorded == sha256 && unchanged) return true;",
     "if (recorded == sha256) return true;", ["card/offload_check.py a_copy_changed_since_stays_and_the_card_gets_another"]),
    ("rows are not written for good", "store/store.cpp", "    sync_file(log);\n", "", ["attack/power_check.py 2"]),
    ("another program's database is taken for ours", "store/store.cpp", "    require_schema(impl->database, true);\n    impl->database.run(kWriterPragmas);",
     "    impl->database.run(kWriterPragmas);\n    require_schema(impl->database, true);", ["attack/proof_check.py"]),
    # That a database gets its log before it has its name is seen by no test: what a kill would leave else is taken back.
    ("a journal that a kill left stays", "store/store.cpp", "    take_back_journal(file);\n", "",
     ["attack/proof_check.py Proof.test_a_journal_that_a_kill_left_is_taken_back"]),
    ("the card is not read again", "card/judge_copies.cpp", "pass->run(!options_.read_once);", "pass->run(false);",
     ["attack/turns_check.py Card"]),
    ("what the card gives the second time does not matter", "card/closing_pass.cpp", "if (again.sha256 != file.sha256)", "if (false)",
     ["attack/turns_check.py Card"]),
    ("a Btrfs lies on one disk", "platform/disk.cpp", "!= nodes.end()) return nodes;", "!= nodes.end()) return {node};", ["test_platform"]),
    ("verify stops where nothing is measured", "command/verify.cpp", "if (copies.lists > 0 && nothing_measured(options.survey)) {", "if (false) {",
     ["attack/slips_check.py VerifyBeforeMeasuring"]),
    ("a database is made in place", "store/store.cpp", 'const std::filesystem::path fresh = file.string() + ".new";',
     "const std::filesystem::path fresh = file;", ["attack/proof_check.py", "faults/faults.py"]),
    ("names are not synced before what speaks of them", "card/copy_record.cpp",
     "for (const auto& folder : folders_) sync_folder(folder);", "", ["attack/power_check.py 30"]),
    ("forget silences before it has written why", "listen/forget.cpp", "        write_forgotten(survey_folder, log);\n        own =",
     "        own =", ["attack/voices_check.py", "faults/faults.py --only forget"]),
    ("SHA256SUMS keeps the hash of the voice", "listen/forget.cpp", "    renew_checksums(survey_folder, path, after);\n", "",
     ["attack/voices_check.py", "listen/round_trip.py"]),
    ("a silenced segment counts", "aggregate/judged_segments.cpp", "exclude(judgement, Reason::silenced, silenced.touch(recording.row, s.row));", "", ["attack/voices_check.py"]),
    ("a voice comes back with its card", "card/file_copier.cpp", "reading.whole() && forgotten_.knows(copied.sha256)", "false",
     ["attack/voices_check.py"]),
    ("verify does not look at the sum of SHA256SUMS", "card/checksums.cpp", "if (std::filesystem::exists(own, ignored) &&", "if (false &&",
     ["attack/slips_check.py"]),
    ("a link to the card's file is a copy when the run begins", "card/card_reader.cpp", "status->number == number;", "false;",
     ["attack/places_check.py Links"]),
    ("a link to the card's file is a copy when it ends", "card/closing_pass.cpp", "if (on_card_.contains({own->device, own->number}))", "if (false)",
     ["attack/exchange_check.py Copies"]),
    ("another card in the same place is the card", "card/judge_copies.cpp", "!card_.is_at(options_.card)", "false",
     ["attack/exchange_check.py Cards"]),
    ("an image is a disk of its own", "platform/disk.cpp", "const fs::path below = depth < 8 && !image.empty() ? node_of_file(image, tables) : fs::path();",
     "const fs::path below;", ["test_platform", "attack/exchange_check.py OneDisk"]),
    ("a hope for the board counts", "board/board.cpp", "= is_unfinished(survey_.folder / deployment.folder);", "= false;",
     ["attack/exchange_check.py Copies"]),
    ("repair replaces what no list names", "card/repair.cpp", "!sums[p].empty() ||", "true ||", ["attack/exchange_check.py Repairs"]),
    ("a copy on another disk counts", "card/closing_pass.cpp", "why = why_no_copy(target, file.copy);", "", ["attack/places_check.py UnderWay"]),
    ("copies on the card itself count", "card/verdict.cpp", "if (place.on_card)", "if (false)", ["attack/places_check.py Mounts"]),
    ("a worse reading replaces a better", "card/file_copier.cpp", "else if (is_worse(copied))", "else if (false)",
     ["card/offload_check.py a_worse_reading_takes_nothing_away"]),
    ("a second disk is forgotten when survey.db was full", "card/copy_record.cpp", "for (const auto& use : uses) write_surely(use);", "",
     ["attack/proof_check.py Proof.test_a_passing_failure_of_the_database_loses_nothing"]),
]


def run(test, tree, build):
    script, *more = test.split()
    if script.startswith("test_"):
        return subprocess.run([build / "tests" / script], capture_output=True).returncode
    program = build / "hearwood"
    arguments = [program, build / "tests" / "fault_library.so"] if script.startswith(("card/", "faults/")) else []
    if script.startswith("listen/"):
        arguments = [program]
    environment = dict(os.environ, HEARWOOD_BINARY=str(program), HEARWOOD_SOURCE_DIR=str(tree), PYTHONPATH=str(tree / "tests/run"))
    done = subprocess.run(["/usr/bin/python3", tree / "tests" / script, *arguments, *more], capture_output=True, text=True, env=environment)
    return done.returncode


# What a fault leaves unused is to stop no build.
QUIET = "".join(f'#pragma GCC diagnostic ignored "-Wunused-{kind}"\n'
                for kind in ("parameter", "variable", "function", "but-set-variable", "but-set-parameter"))


def options_of(build):
    """Those of a build folder on which it hangs whether a compiler's cache knows the files."""
    kept = ("CMAKE_CXX_COMPILER_LAUNCHER:", "CMAKE_CXX_FLAGS:", "HEARWOOD_WERROR:", "CMAKE_UNITY_BUILD:")
    lines = pathlib.Path(build, "CMakeCache.txt").read_text().splitlines()
    return ["-D" + line for line in lines if line.startswith(kept)]


def main():
    source, old_build, *names = sys.argv[1:]
    missed = 0
    with tempfile.TemporaryDirectory(prefix="hearwood-mutations-") as temporary:
        tree = pathlib.Path(temporary, "tree")
        build = tree / "build"
        shutil.copytree(source, tree, ignore=shutil.ignore_patterns("build", "build-*", ".git"))
        subprocess.run(["cmake", "-S", tree, "-B", build, "-G", "Ninja", "-DHEARWOOD_TESTS=ON", *options_of(old_build)], check=True,
                       capture_output=True)
        for name, file, before, after, tests in FAULTS:
            if names and name not in names:
                continue
            path = tree / "src" / file
            text = path.read_text()
            if text.count(before) < 1:
                sys.exit(f"{name}: {file} has no such line any more: fix the list")
            path.write_text(QUIET + text.replace(before, after))
            targets = ["hearwood", "fault_library", *(test for test in tests if test.startswith("test_"))]
            subprocess.run(["cmake", "--build", build, "--target", *targets], check=True, stdout=subprocess.DEVNULL)
            seen = next((test for test in tests if run(test, tree, build) != 0), None)
            path.write_text(text)
            missed += seen is None
            print(f"{'found  ' if seen else 'MISSED '} {name}{': ' + seen if seen else ''}", flush=True)
    sys.exit(missed > 0)


main()
