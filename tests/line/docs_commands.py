#!/usr/bin/env python3
"""Runs what README and docs show: docs_commands.py BURSTLOOM PROJECT [PAGE...]

Each page gets a folder of its own with the sample files in it, and its blocks are gone through in the page's order:

  ```sh             commands; lines that begin with burstloom (or sed) are run and have to end with 0
  ```sh exit 1      ... with this exit code, the last of them
  ```sh device      cannot run here (a chip, a serial line); counted and listed
  ```text           right after commands: what they print, compared; a line of … stands for any lines, … within a line
                    for anything
  ```csv points.csv any block with a file name: written under this name
  <!-- run: ... --> runs unseen: stands for what a person does at the bench in between

Commands in the running text that name a file, `burstloom check song.burst`, are run as well, unless a word in capitals
(COIL.toml) says that it is a pattern, or --device or /dev/ that it wants one. Other programs' lines (make, bash) are listed.
"""
import os, pathlib, re, shutil, subprocess, sys, tempfile

# Every form that is acted on; what does not match is prose.
FORMS = re.compile(r"^```(?P<info>[^\n`]*)\n(?P<block>.*?)^```$|^<!-- run: (?P<unseen>.*?) -->|"
                   r"`(?P<inline>burstloom [^`]*)`", re.M | re.S)
NAMES_A_FILE = re.compile(r" [\w/-]+\.[a-z]+\b")
PATTERN = re.compile(r"\b[A-Z]+(\.[a-z]+)?\b")


class Page:
    def __init__(self, path, folder, environment):
        self.path, self.folder, self.environment = path, folder, environment
        self.ran, self.not_run, self.failures, self.printed = 0, [], [], None

    def go_through(self):
        for form in FORMS.finditer(self.path.read_text(encoding="utf-8")):
            if form["unseen"]:
                self.run(form["unseen"], 0)
            elif form["inline"]:
                self.run_mention(" ".join(form["inline"].split()))
            else:
                self.take_block(form["info"].strip(), form["block"])

    def run_mention(self, command):
        if not NAMES_A_FILE.search(command) or PATTERN.search(command):
            return
        if "--device" in command or "/dev/" in command:
            self.not_run.append(command)
        else:
            self.run(command, 0)

    def take_block(self, info, block):
        language, _, rest = info.partition(" ")
        if language in ("bash", "shell", "console"):
            self.failures.append(f"commands stand in ```sh blocks, not in ```{language}")
        if language == "sh":
            self.run_block(block, rest)
        elif language == "text" and self.printed is not None:
            self.compare(block)
        elif re.fullmatch(r"[\w.-]+\.\w+", rest):
            (self.folder / rest).write_text(block, encoding="utf-8")

    def run_block(self, block, mark):
        lines = [line for line in block.replace("\\\n", " ").splitlines() if line.strip()]
        own = [line for line in lines if re.match(r"(build/release/)?burstloom |sed ", line) and mark != "device"]
        self.not_run += [" ".join(line.split()) for line in lines if line not in own and not line.startswith("#")]
        self.printed = "" if own else None
        wanted = int(mark.split()[1]) if mark.startswith("exit ") else 0
        for line in own:
            self.printed += self.run(line, wanted if line is own[-1] else 0)

    def run(self, command, wanted):
        self.ran += 1
        done = subprocess.run(["bash", "-c", command.replace("build/release/burstloom", "burstloom")], cwd=self.folder,
                              env=self.environment, stdin=subprocess.DEVNULL, stdout=subprocess.PIPE,
                              stderr=subprocess.STDOUT, text=True, encoding="utf-8")
        if done.returncode != wanted:
            self.failures.append(f"exit code {done.returncode}, not {wanted}: {command}\n{done.stdout}")
        return done.stdout

    def compare(self, shown):
        if not re.fullmatch(pattern_of(shown), self.printed):
            self.failures.append(f"the page shows\n{shown}\nbut the program prints\n{self.printed}")


def pattern_of(shown):
    lines = (r"(?:[^\n]*\n)*?" if line.strip() == "…" else re.escape(line.rstrip()).replace("…", r"[^\n]*") + r" *\n"
             for line in shown.splitlines())
    return "".join(lines)


def prepare(folder, project):
    """The files that pages speak of: song.mid, song.flac, audio-samples."""
    samples = project / "audio-samples"
    shutil.copy(samples / "quayside-lanterns.mid", folder / "song.mid")
    shutil.copy(samples / "ferry-call.flac", folder / "song.flac")
    (folder / "audio-samples").symlink_to(samples)


def main():
    burstloom, project = pathlib.Path(sys.argv[1]).resolve(), pathlib.Path(sys.argv[2]).resolve()
    pages = [pathlib.Path(page).resolve() for page in sys.argv[3:]] or [
        project / "README.md", project / "DEVELOPERS.md", *sorted((project / "docs").rglob("*.md")),
        project / "audio-samples/README.md"]
    environment = {**os.environ, "PATH": f"{burstloom.parent}:{os.environ['PATH']}", "LC_ALL": "C.UTF-8"}
    failed = ran = 0
    for path in pages:
        with tempfile.TemporaryDirectory() as folder:
            page = Page(path, pathlib.Path(folder), {**environment, "XDG_CONFIG_HOME": f"{folder}/.config"})
            prepare(page.folder, project)
            page.go_through()
        name = path.relative_to(project)
        if page.ran or page.not_run:
            print(f"{name}: {page.ran} run, {len(page.not_run)} not run")
        for command in page.not_run:
            print(f"  not run: {command}")
        for failure in page.failures:
            print(f"{name}: {failure}")
        failed, ran = failed + len(page.failures), ran + page.ran
    print(f"{ran} commands run, {failed} failures")
    sys.exit(1 if failed or ran == 0 else 0)


if __name__ == "__main__":
    main()
