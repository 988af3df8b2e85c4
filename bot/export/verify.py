"""Says whether a case bundle is as it was exported, and exactly what was touched.

    python3 verify.py              looks at the folder that this file stands in
    python3 verify.py BUNDLE       looks at that folder, or at that zip without unpacking it
    … --words "SIX WORDS OF A DAY" also says which midnight they are of, from a notebook kept outside

Needs Python 3.8 or later and nothing else. Exit code 0: nothing was altered; 1: something was, each
named in a sentence of its own; 2: this is no bundle.
"""

from __future__ import annotations

import hashlib
import json
import os
import re
import sys
import zipfile
from collections import Counter
from typing import Any, BinaryIO, Iterator  # noqa: UP035 - an old Python reads this

GENESIS = "0" * 64
PIECE = 1 << 20
LINE = re.compile(rb'\{"(entry|message)":(.*),"(hash|sha256)":"([0-9a-f]{64})"\}\n?', re.DOTALL)


class Bundle:
    """The files of a bundle, in a folder or in a zip, by their paths inside the bag."""

    def __init__(self, place: str) -> None:
        self.zip = None if os.path.isdir(place) else zipfile.ZipFile(place)  # noqa: PTH112 - a bare Python
        self.folder = place
        named = list(self._names())
        self.names: dict[str, str] = dict(named)
        counted = Counter(path for path, _ in named)
        self.twice = [path for path, count in counted.items() if count > 1 and path]
        self._known: dict[str, str] = {}

    def _names(self) -> Iterator[tuple[str, str]]:
        if self.zip is not None:
            for name in self.zip.namelist():
                yield name.partition("/")[2], name
            return
        for folder, _, files in os.walk(self.folder):
            for name in files:
                path = os.path.join(folder, name)  # noqa: PTH118 - a bare Python
                yield os.path.relpath(path, self.folder).replace(os.sep, "/"), path

    def open(self, path: str) -> BinaryIO:
        """The file, to be read."""
        if self.zip is None:
            return open(self.names[path], "rb")  # noqa: PTH123 - a bare Python; whoever asks closes
        stream = self.zip.open(self.names[path])
        stream._expected_crc = None  # type: ignore[attr-defined]  # the hash says it, and names the file
        return stream  # type: ignore[return-value]  # it reads like a file

    def sha256(self, path: str) -> str:
        """The hash of the file's bytes, read once."""
        if path not in self._known:
            digest = hashlib.sha256()
            with self.open(path) as stream:
                for piece in iter(lambda: stream.read(PIECE), b""):
                    digest.update(piece)
            self._known[path] = digest.hexdigest()
        return self._known[path]

    def lines(self, path: str) -> Iterator[bytes]:
        """The file's lines; none where it is gone, which the manifest tells."""
        if path in self.names:
            with self.open(path) as stream:
                yield from stream


def ends_of(held: dict[str, Any]) -> dict[str, Any]:
    """Chain to count and hash of its last entry. Raises TypeError, ValueError or IndexError else."""
    return {str(name): [int(end[0]), str(end[1])] for name, end in held.items()}


def files_in(value: Any) -> Iterator[str]:
    """The hashes of the files that a body speaks of, wherever in it."""
    if isinstance(value, dict) and {"sha256", "media_type"} <= value.keys():
        yield str(value["sha256"])
    held = value.values() if isinstance(value, dict) else value if isinstance(value, list) else ()
    for one in held:
        yield from files_in(one)


class Chain:
    """One chain being read: what is not as it was written, and the hash of every entry."""

    def __init__(self, name: str) -> None:
        self.name = name
        self.hashes: dict[int, str] = {}
        self.found: list[str] = []
        self.messages: dict[str, int] = {}
        self.files: dict[str, int] = {}
        self.addresses: set[str] = set()
        self.midnights: list[tuple[str, dict[str, Any]]] = []
        self.masked = 0
        self._seq = 0
        self._hash = GENESIS

    def take(self, line: bytes) -> None:
        """Look at the next line."""
        found = LINE.fullmatch(line)
        try:
            held = json.loads(found[2] if found else line)
            seq, hash_ = int(held["seq"]), found[4].decode() if found else str(held["hash"])
        except (ValueError, KeyError, TypeError):
            self.found.append(f"{self.name}: the line after entry {self._seq} cannot be read")
            return
        altered = found is not None and hashlib.sha256(found[2]).hexdigest() != hash_
        if altered:
            self.found.append(f"{self.name}#{seq}: its text does not give its hash")
        self._stand(seq, str(held.get("previous")))
        self._seq, self._hash = seq, hash_
        self.hashes[seq] = hash_
        if found is None:
            self.masked += 1
        elif not altered:
            self._read_or_say(seq, held)

    def _stand(self, seq: int, previous: str) -> None:
        if seq > self._seq + 1:
            self.found.append(self.gone(self._seq + 1, seq - 1, f"between {self._seq} and {seq}"))
        elif seq <= self._seq:
            self.found.append(f"{self.name}#{seq}: it stands after entry {self._seq}, out of its place")
        elif previous != self._hash:
            self.found.append(f"{self.name}#{seq}: it does not follow entry {self._seq}; one was exchanged")

    def gone(self, first: int, last: int, where: str) -> str:
        """The sentence for entries that are missing."""
        if first == last:
            return f"{self.name}: entry {first} is gone, {where}"
        return f"{self.name}: entries {first} to {last} are gone, {where}"

    def _read_or_say(self, seq: int, held: dict[str, Any]) -> None:
        try:
            self._read(seq, held)
        except (KeyError, TypeError, ValueError, AttributeError, IndexError):
            self.found.append(f"{self.name}#{seq}: it is no entry of this program")

    def _read(self, seq: int, held: dict[str, Any]) -> None:
        body = held.get("body") or {}
        if held.get("message"):
            self.messages.setdefault(held["message"], seq)
        for sha256 in files_in(body):
            self.files.setdefault(sha256, seq)
        if held.get("kind") == "HeadsSealed":
            self.midnights.append((str(body["day"]), ends_of(body["heads"])))

    def held_to(self, seq: int, hash_: str, what: str) -> None:
        """The chain reaches this far with this hash, as `what` says."""
        last = max(self.hashes, default=0)
        if last < seq:
            sentence = self.gone(last + 1, seq, f"after {last}: {what} counted {seq}")
            if not any(self.gone(last + 1, seq, f"after {last}: ") in one for one in self.found):
                self.found.append(sentence)
        elif seq in self.hashes and self.hashes[seq] != hash_:
            self.found.append(f"{self.name}#{seq}: it has another hash than {what} noted")


def manifests(bundle: Bundle) -> dict[str, str]:
    """What is not as the bag's own lists say: path to what is wrong with it."""
    wrong: dict[str, str] = {}
    listed: set[str] = {"tagmanifest-sha256.txt"}
    for name in ("tagmanifest-sha256.txt", "manifest-sha256.txt"):
        for line in bundle.lines(name):
            sha256, _, path = line.decode("utf-8", "replace").rstrip("\n").partition("  ")
            listed.add(path)
            if path not in bundle.names:
                wrong[path] = "it is gone"
            elif bundle.sha256(path) != sha256:
                wrong[path] = "its bytes are not those that were exported"
    wrong.update((path, "it stands twice") for path in bundle.twice)
    for path in bundle.names:
        if path not in listed and not path.endswith("/"):
            wrong[path] = "it was added"
    return wrong


def read_chain(bundle: Bundle, name: str, path: str) -> Chain:
    """A chain as its file holds it."""
    chain = Chain(name)
    for line in bundle.lines(path):
        chain.take(line)
    return chain


def against_midnights(case: Chain, unit: Chain, head: dict[str, Any]) -> None:
    """Where a chain is shorter than a midnight or the export counted it, or has another hash there."""
    for day, heads in unit.midnights:
        for chain in (case, unit):
            if chain.name in heads:
                chain.held_to(heads[chain.name][0], heads[chain.name][1], f"the midnight after {day}")
    for chain in (case, unit):
        if chain.name in head.get("heads", {}):
            chain.held_to(head["heads"][chain.name][0], head["heads"][chain.name][1], "the export")


def against_messages(bundle: Bundle, case: Chain) -> list[str]:
    """Which raw messages are not as they came, and which are gone."""
    found, known, number = [], set(), 0
    for number, line in enumerate(bundle.lines("data/messages.jsonl"), 1):
        whole = LINE.fullmatch(line)
        try:
            sha256 = whole[4].decode() if whole else str(json.loads(line)["sha256"])
        except (ValueError, KeyError, TypeError):
            found.append(f"message {number} of data/messages.jsonl cannot be read")
            continue
        known.add(sha256)
        if whole and hashlib.sha256(whole[2]).hexdigest() != sha256:
            found.append(f"message {number} of data/messages.jsonl: its text does not give its hash")
    found.extend(
        f"message {sha256[:12]}: it is gone or altered, and {case.name}#{seq} cites it"
        for sha256, seq in case.messages.items()
        if sha256 not in known
    )
    return found


def against_originals(bundle: Bundle, case: Chain, wrong: dict[str, str]) -> list[str]:
    """Which files do not bear the name of their bytes, and which are gone."""
    found, known = [], set()
    for path in sorted(bundle.names):
        if path.startswith("data/originals/") and not path.endswith("/"):
            name = path.rpartition("/")[2].partition(".")[0]
            known.add(name)
            if path not in wrong and bundle.sha256(path) != name:
                found.append(f"{path}: its bytes do not give its name")
    gone = {path.rpartition("/")[2].partition(".")[0] for path, what in wrong.items() if what == "it is gone"}
    found.extend(
        f"original {sha256}: it is not in the bundle, and {case.name}#{seq} cites it"
        for sha256, seq in case.files.items()
        if sha256 not in known and sha256 not in gone
    )
    return found


def against_addresses(bundle: Bundle) -> list[str]:
    """Which values do not give the commitment that stands in the record for them."""
    found = []
    for line in bundle.lines("data/addresses.jsonl"):
        try:
            held = json.loads(line)
            text = f"coldjar commitment\n{held['salt']}\n{held['value']}"
            given = held["commitment"]
        except (ValueError, KeyError, TypeError):
            found.append("a line of data/addresses.jsonl cannot be read")
            continue
        if hashlib.sha256(text.encode()).hexdigest() != given:
            found.append(f"address {held['value']}: it does not give its commitment")
    return found


def six_words(bundle: Bundle, heads: dict[str, Any]) -> str:
    """The words of a midnight, made anew from its heads: 64 bits of their hash and 2 of parity (RFC 1751)."""
    text = json.dumps(heads, separators=(",", ":"), sort_keys=True, ensure_ascii=False)
    key = int(hashlib.sha256(text.encode()).hexdigest()[:16], 16)
    parity = sum(key >> place & 3 for place in range(0, 64, 2)) & 3
    bits = key << 2 | parity
    listed = b"".join(bundle.lines("rfc1751.txt")).decode("ascii", "replace").split()
    places = [bits >> shift & 2047 for shift in range(55, -1, -11)]
    return " ".join(listed[place] if place < len(listed) else "?" for place in places)


def against_words(bundle: Bundle, unit: Chain, wanted: str) -> list[str]:
    """Which midnight these six words are of; a finding where there is none."""
    words = " ".join(wanted.upper().split())
    for day, heads in unit.midnights:
        if six_words(bundle, heads) == words:
            sys.stdout.write(f"These are the words of {day}.\n")
            return []
    return [f"no midnight of this bundle has the words {words}"]


def head_of(bundle: Bundle) -> dict[str, Any]:
    """Where the chains ended at the export; where that is gone, only the name of the case's chain."""
    for path in ("data/head.json", "data/entries.jsonl"):
        for line in bundle.lines(path):
            try:
                held = json.loads(line)
                if "heads" in held:
                    return {"case": str(held["case"]), "heads": ends_of(held["heads"])}
                return {"case": str((held.get("entry") or held)["chain"])}
            except (ValueError, KeyError, AttributeError, TypeError, IndexError):
                break
    return {"case": "the case"}


def verify(place: str, words: str | None = None) -> tuple[list[str], str]:
    """(findings, what was looked at). Raises OSError, zipfile.BadZipFile, KeyError: it is no bundle."""
    bundle = Bundle(place)
    bundle.names["bagit.txt"]
    head = head_of(bundle)
    wrong = manifests(bundle)
    case = read_chain(bundle, head["case"], "data/entries.jsonl")
    unit = read_chain(bundle, "unit", "data/unit.jsonl")
    against_midnights(case, unit, head)
    named = {
        "data/entries.jsonl": case.found,
        "data/unit.jsonl": unit.found,
        "data/messages.jsonl": against_messages(bundle, case),
        "data/addresses.jsonl": against_addresses(bundle),
    }
    originals = against_originals(bundle, case, wrong)
    found = [one for sentences in named.values() for one in sentences] + originals
    found += [f"{path}: {what}" for path, what in sorted(wrong.items()) if not named.get(path)]
    if words is not None:
        found += against_words(bundle, unit, words)
    masked = f", {case.masked + unit.masked} of them masked" if case.masked + unit.masked else ""
    entries = len(case.hashes) + len(unit.hashes)
    return found, f"{entries} entries{masked}, {len(bundle.names)} files, {len(unit.midnights)} midnights."


def main() -> int:
    """Look, and say what was found."""
    given, words = sys.argv[1:], None
    if "--words" in given[:-1]:
        at = given.index("--words")
        words, given = given[at + 1], given[:at] + given[at + 2 :]
    place = given[0] if given else os.path.dirname(os.path.abspath(__file__))  # noqa: PTH100, PTH120 - a bare Python
    try:
        found, looked_at = verify(place, words)
    except (OSError, zipfile.BadZipFile, KeyError) as problem:
        sys.stderr.write(f"{place} is no case bundle ({problem}); name its folder or its zip.\n")
        return 2
    count = "1 finding." if len(found) == 1 else f"{len(found)} findings."
    for line in (looked_at, *found, count if found else "Nothing was altered."):
        sys.stdout.write(line + "\n")
    return 1 if found else 0


if __name__ == "__main__":
    sys.exit(main())
