#!/usr/bin/env python3
"""docs/reference/messages.md and the sources say the same messages: docs_messages.py PROJECT

A message is made of fixed words and of values. On the page it stands in the first column of a table, as `code`, with …
for each value. Every stretch of fixed words on the page has to be part of a string in src; and of every message that
src can tell, the longest stretch of fixed words has to be on the page. What to do about a missing one: a row for it.
"""
import pathlib, re, sys

STRING = r'"(?:[^"\\\n]|\\.)*"'
TOKEN = re.compile(STRING + r"|'(?:[^'\\\n]|\\.)+'|//[^\n]*|/\*.*?\*/", re.S)
# What tells a message: Error, a function that returns one or never returns, one that is handed `what` is wrong, a
# remark, a warning.
TELLERS = re.compile(r"\bError (\w+)\(|\[\[noreturn\]\] \w+ (\w+)\(|throw (\w+)\(|"
                     r"\b(\w+)\((?:[^(){};]|\([^()]*\))*\bwhat\b[^(){};]*\)[^(){};]*\{|auto (\w+) = \[[^{]*\{\s*"
                     r"(?:return|throw) (?:Error|bad_input)\(")
REMARKS = r"(?:remarks|remarks_|warnings|said)\.(?:push|emplace)_back"
EDGES = " \n,:;'\"()"  # between fixed words and values, as the page likes it
NOT_WORDS = {"if", "for", "while", "switch", "catch", "runtime_error", "what"}


def without_comments(text):
    return TOKEN.sub(lambda m: " " if m[0].startswith("/") else m[0], text)


def words_of(source):
    """The text of a string literal, adjacent ones joined."""
    text = "".join(part[1:-1] for part in re.findall(STRING, source))
    return text.replace('\\"', '"').replace("\\n", "\n").replace("%%", "%")  # printf's


def strings_in(source):
    return [words_of(m[0]) for m in re.finditer(rf"{STRING}(?:\s*{STRING})*", source)]


def arguments(text, at):
    """The arguments of the call whose ( or { ends before `at`."""
    depth, begin, found = 0, at, []
    while at < len(text):
        token = TOKEN.match(text, at)
        if token:
            at = token.end()
            continue
        if text[at] in "([{":
            depth += 1
        elif text[at] in ")]}" and depth == 0:
            return found + [text[begin:at]]
        elif text[at] in ")]}":
            depth -= 1
        elif text[at] == "," and depth == 0:
            found.append(text[begin:at])
            begin = at + 1
        at += 1
    return found


def is_prose(text):
    """Two words at least: not a key, an option or a unit."""
    return re.search(r"[A-Za-z]\S* +\S*[A-Za-z]", text) is not None


def fixed_words(call_arguments):
    """The longest stretch of the first argument that is prose: what is wrong stands before what to do."""
    if call_arguments and call_arguments[0].strip().startswith(("Fault::", "error.fault")):
        call_arguments = call_arguments[1:2]
    for argument in call_arguments:
        prose = [text.strip(EDGES) for text in strings_in(argument) if is_prose(text)]
        if prose:
            return max(prose, key=len)
    return None


def messages_told(path):
    text = without_comments(path.read_text(encoding="utf-8"))
    names = {name for found in TELLERS.findall(text) for name in found if name} - NOT_WORDS | {"Error", "bad_input", "refuse"}
    calls = re.compile(rf"\b(?:(?:{'|'.join(sorted(names))}|{REMARKS})\(|Damage\{{|return \{{(?=Fault::))")
    for call in calls.finditer(text):
        words = fixed_words(arguments(text, call.end()))
        if words:
            yield words, f"{path}:{text.count(chr(10), 0, call.start()) + 1}"


def messages_on(page):
    for number, line in enumerate(page.read_text(encoding="utf-8").splitlines(), 1):
        if line.startswith("| `"):
            for message in re.findall(r"`([^`]+)`", line.split(" | ")[0]):
                yield message, f"{page}:{number}"


def main():
    project = pathlib.Path(sys.argv[1])
    page = project / "docs/reference/messages.md"
    sources = sorted((project / "src").rglob("*.[ch]pp"))
    strings = [text for path in sources for text in strings_in(without_comments(path.read_text(encoding="utf-8")))]
    shown = list(messages_on(page))
    told = [message for path in sources for message in messages_told(path)]
    failures = []
    for message, where in shown:
        for piece in filter(is_prose, (piece.strip(EDGES) for piece in re.split("…|; ", message))):
            if not any(piece in text for text in strings):
                failures.append(f"{where}: no source says '{piece}'")
    for words, where in told:
        if not any(words in message for message, _ in shown):
            failures.append(f"{where}: not in docs/reference/messages.md: '{words}'")
    print("\n".join(failures))
    print(f"{len(shown)} messages on the page, {len(told)} told by the sources, {len(failures)} failures")
    sys.exit(1 if failures or len(shown) < 100 or len(told) < 100 else 0)


if __name__ == "__main__":
    main()
