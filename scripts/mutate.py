"""Random one-line mutations of a room, each judged by the room's own tests. Run by mutate.sh.

A mutant is noticed when a test fails, crashes or does not come to its end; it survives when all tests pass. One that does
not compile, or that compiles to the same program, says nothing of the tests. So does one in tests/mutants/equivalent.txt:
"FILE | LINE BEFORE | OLD LINE | NEW LINE | why it changes nothing that anyone could see".
"""

import collections
import filecmp
import os
import pathlib
import random
import re
import shutil
import signal
import subprocess
import sys
import time

# The player on the chip is tested with the tables that it plays; with sets of songs it is a program of its own.
ALSO = {"tables": ["firmware-out/player"]}
PROGRAMS = {"tables": ["test_tables", "test_set_player"]}
# What plays in real time wants a machine for itself.
LEFT_OUT = "-LiveSession.*"

SWAPS = [("comparison", a, b) for a, b in [(" < ", " <= "), (" <= ", " < "), (" > ", " >= "), (" >= ", " > "),
                                           (" == ", " != "), (" != ", " == "), (" < ", " > "), (" > ", " < ")]]
SWAPS += [("operator", a, b) for a, b in [(" + ", " - "), (" - ", " + "), (" * ", " / "), (" / ", " * "), (" && ", " || "),
                                          (" || ", " && "), (" += ", " -= "), (" -= ", " += "), (" |= ", " &= "),
                                          (" &= ", " |= "), (" % ", " / "), ("std::min", "std::max"),
                                          ("std::max", "std::min"), ("std::ceil", "std::floor"),
                                          ("std::floor", "std::ceil"), ("true", "false"), ("false", "true")]]
NUMBER = re.compile(r"(?<![\w.'])(\d+(?:\.\d+)?(?:e-?\d+)?)(?![\w.'])")
STATEMENT = re.compile(r"^\s*(?!return\b|using\b|throw\b|case\b|delete\b)(?:(?:\+\+|--)?[\w.\->:\[\]*]+"
                       r"(?:\s(?:[-+*/|&^%]|<<|>>)?=\s.*|\(.*\)|\+\+|--)|(?:\+\+|--)[\w.\->\[\]]+);$")


class Mutant(collections.namedtuple("Mutant", "file line kind before old new")):
    """A line of a file and what becomes of it."""


def code_lines(text):
    """(number, line) of the lines that hold code, what is comment or string blanked at the same width."""
    blanked = re.sub(r"/\*.*?\*/|//[^\n]*|\"(?:\\.|[^\"\\\n])*\"|'(?:\\.|[^'\\\n])'",
                     lambda it: re.sub(r"[^\n]", " ", it.group()), text, flags=re.S)
    for number, line in enumerate(blanked.split("\n")):
        if line.strip() and not line.lstrip().startswith(("#", "static_assert", "template", "using", "namespace")):
            yield number, line


def changed_number(text):
    if "." in text or "e" in text:
        return repr(float(text) * 1.1 if float(text) else 1.0)
    return str(int(text) + 1)


def mutations_of(line, blanked):
    """[(kind, new line)] of one line; `blanked` says where its code is."""
    found = []
    for kind, old, new in SWAPS:
        for at in re.finditer(rf"(?<!\w){re.escape(old)}(?!\w)" if old[0] != " " else re.escape(old), blanked):
            found.append((kind, line[:at.start()] + new + line[at.end():]))
    for at in NUMBER.finditer(blanked):
        found.append(("constant", line[:at.start()] + changed_number(at.group()) + line[at.end():]))
        if at.group().isdigit() and int(at.group()) > 0:
            found.append(("constant", line[:at.start()] + str(int(at.group()) - 1) + line[at.end():]))
    for at in re.finditer(r"(?<=[( ])!(?=[\w(])", blanked):
        found.append(("operator", line[:at.start()] + line[at.end():]))
    for at in re.finditer(r" (?:<|<=|>|>=) (\w+)(?=[;)])", blanked):
        found.append(("off by one", line[:at.end()] + " + 1" + line[at.end():]))
    if STATEMENT.match(blanked.rstrip()):
        found.append(("dropped statement", re.match(r"\s*", line).group() + ";"))
    return found


def all_mutants(root, folders):
    """{(file, line number): [Mutant]}."""
    places = {}
    for folder in folders:
        for path in sorted((root / folder).rglob("*")):
            if path.suffix not in (".cpp", ".hpp", ".c", ".h"):
                continue
            text = path.read_text()
            lines, name = text.split("\n"), path.relative_to(root).as_posix()
            for number, blanked in code_lines(text):
                mutants = [Mutant(name, number, kind, lines[number - 1], lines[number], new)
                           for kind, new in mutations_of(lines[number], blanked)]
                if mutants:
                    places[name, number] = mutants
    return places


class Copy:
    """The tree that is mutated, built and tested."""

    def __init__(self, root, room):
        self.root = root
        self.tree = root / "build" / "mutate" / room
        self.build = self.tree / "build" / "release"
        self.names = PROGRAMS.get(room, [f"test_{room}"])
        self.programs = [self.build / "tests" / name for name in self.names]
        self.update()
        # Without headers compiled ahead: a header that is mutated need not rebuild them.
        self.run(["cmake", "--preset", "release", "-DBURSTLOOM_TESTS=ON", "-DCMAKE_DISABLE_PRECOMPILE_HEADERS=ON"])

    def update(self):
        """Brings the copy to what the user's tree is now; what is the same keeps its time, so it is not built again."""
        listed = self.run(["git", "ls-files", "-z", "--cached", "--others", "--exclude-standard"], self.root).split("\0")
        names = {name for name in listed if name and (self.root / name).is_file()}
        kept = self.tree / "copied.txt"
        for gone in (set(kept.read_text().split("\n")) if kept.exists() else set()) - names:
            if gone:
                (self.tree / gone).unlink(missing_ok=True)
        for name in names:
            source, target = self.root / name, self.tree / name
            if not target.exists() or not filecmp.cmp(source, target, shallow=False):
                target.parent.mkdir(parents=True, exist_ok=True)
                shutil.copy(source, target)
        kept.write_text("\n".join(sorted(names)))

    def run(self, command, where=None):
        ran = subprocess.run(command, cwd=where or self.tree, capture_output=True, text=True, check=False)
        if ran.returncode != 0:
            sys.exit(f"{' '.join(map(str, command))}:\n{ran.stdout[-3000:]}{ran.stderr[-3000:]}")
        return ran.stdout

    def builds(self):
        command = ["cmake", "--build", self.build, "-j1", "--target", *self.names]
        return subprocess.run(command, cwd=self.tree, capture_output=True, check=False).returncode == 0

    def bytes(self):
        return [program.read_bytes() for program in self.programs]

    def tests_pass(self, timeout_s):
        return all(self.program_passes(program, timeout_s) for program in self.programs)

    def program_passes(self, program, timeout_s):
        """Properties are not shrunk: that a test fails is all that is asked."""
        environment = {**os.environ, "RC_PARAMS": "noshrink=1"}
        with subprocess.Popen([program, "--gtest_fail_fast", "--gtest_brief=1", f"--gtest_filter={LEFT_OUT}"],
                              cwd=self.build / "tests", env=environment, stdout=subprocess.DEVNULL,
                              stderr=subprocess.DEVNULL) as running:
            try:
                return running.wait(timeout_s) == 0
            except subprocess.TimeoutExpired:
                return False
            finally:
                running.kill()

    def judge(self, mutant, timeout_s, original):
        path = self.tree / mutant.file
        whole = path.read_text()
        lines = whole.split("\n")
        lines[mutant.line] = mutant.new
        try:
            path.write_text("\n".join(lines))
            if not self.builds():
                return "does not compile"
            if self.bytes() == original:
                return "same program"
            return "survived" if self.tests_pass(timeout_s) else "noticed"
        finally:
            path.write_text(whole)


def known_equivalents(root):
    text = (root / "tests" / "mutants" / "equivalent.txt").read_text()
    rows = [line.split(" | ") for line in text.split("\n") if line and line[0] != "#"]
    return {tuple(part.strip() for part in row[:-1]) for row in rows}


def report(results, seed):
    counts = collections.Counter(outcome for _, outcome in results)
    kinds = sorted({mutant.kind for mutant, _ in results})
    outcomes = ["noticed", "survived", "changes nothing", "same program", "does not compile"]
    print(f"\n{'seed ' + str(seed):20}" + "".join(f"{outcome:>18}" for outcome in outcomes))
    for kind in kinds:
        of_kind = collections.Counter(outcome for mutant, outcome in results if mutant.kind == kind)
        print(f"{kind:20}" + "".join(f"{of_kind[outcome]:18}" for outcome in outcomes))
    print(f"{'in all':20}" + "".join(f"{counts[outcome]:18}" for outcome in outcomes))
    judged = counts["noticed"] + counts["survived"]
    print(f"noticed {counts['noticed']} of {judged} that change anything: {100 * counts['noticed'] / max(1, judged):.0f} %")
    for mutant, outcome in results:
        if outcome == "survived":
            print(f"\nsurvived: {mutant.file}:{mutant.line + 1} ({mutant.kind})\n  - {mutant.old.strip()}\n  + {mutant.new.strip()}")


def main():
    signal.signal(signal.SIGTERM, lambda *_: sys.exit("ended before all were judged"))  # so that what is changed is put back
    root, room, wanted = pathlib.Path(sys.argv[1]), sys.argv[2], int(sys.argv[3])
    seed = int(sys.argv[4]) if len(sys.argv) > 4 else random.randrange(10**6)
    places = all_mutants(root, [f"src/{room}", *ALSO.get(room, [])])
    if not places:
        sys.exit(f"src/{room} holds no code: give the name of a room")
    equivalents = known_equivalents(root)
    copy = Copy(root, room)
    if not copy.builds():
        sys.exit("the tree does not build as it is")
    original = copy.bytes()
    began = time.monotonic()
    if not copy.tests_pass(3600):
        sys.exit(f"the tests of {room} do not pass as they are")
    timeout_s = 30 + 5 * (time.monotonic() - began)
    order = random.Random(seed)
    keys = sorted(places)
    order.shuffle(keys)
    results, judged = [], 0
    for key in keys:
        if judged == wanted:
            break
        mutant = order.choice(places[key])
        is_known = (mutant.file, mutant.before.strip(), mutant.old.strip(), mutant.new.strip()) in equivalents
        outcome = "changes nothing" if is_known else copy.judge(mutant, timeout_s, original)
        judged += outcome != "does not compile"
        results.append((mutant, outcome))
        print(f"{outcome:17} {mutant.file}:{mutant.line + 1}: {mutant.new.strip() or ';'}", flush=True)
    copy.builds()
    report(results, seed)


if __name__ == "__main__":
    main()
