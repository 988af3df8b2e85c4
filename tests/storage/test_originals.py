"""Originals on a real disk: whole, once, and gone when nobody names them; killed and refused for real.

References: FIPS 180-4 for the hash, the kernel for file modes, limits and SIGKILL.
"""

from __future__ import annotations

import asyncio
import hashlib
import os
import signal
import stat
import subprocess
import sys
from collections.abc import AsyncIterator
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bot.model.errors import FileTooLarge, StoreUnavailable
from storage.originals import FolderOriginals

ROOT = Path(__file__).parents[2]
LIMIT = 1_000_000
ABC = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"  # FIPS 180-4, of "abc"
HOUR = 3600.0


async def pieces(*chunks: bytes) -> AsyncIterator[bytes]:
    for chunk in chunks:
        yield chunk


def files_in(folder: Path) -> list[str]:
    return sorted(str(path.relative_to(folder)) for path in folder.rglob("*") if path.is_file())


def modes_in(folder: Path) -> set[tuple[str, int]]:
    paths = [folder, *folder.rglob("*")]
    return {("file" if it.is_file() else "folder", stat.S_IMODE(it.stat().st_mode)) for it in paths}


def made_long_ago(path: Path, now_s: float = 1_000_000.0) -> None:
    os.utime(path, (now_s - 2 * HOUR, now_s - 2 * HOUR))


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return tmp_path / "originals"


def open_files() -> list[str]:
    """Every file that this process has open, as the system names it (proc(5))."""
    return [os.path.realpath(link) for link in Path("/proc/self/fd").iterdir()]


async def test_what_is_kept_stands_under_its_hash_and_reads_back(folder: Path) -> None:
    originals = FolderOriginals(folder)
    assert await originals.keep(pieces(b"a", b"", b"bc"), LIMIT) == (ABC, 3)
    assert files_in(folder) == [f"ba/{ABC}"]
    assert await FolderOriginals(folder).read(ABC) == b"abc"
    assert await originals.sizes() == {ABC: 3}


@given(st.lists(st.binary(max_size=70_000), max_size=6))
@settings(max_examples=25, deadline=None)
def test_how_the_bytes_are_cut_makes_no_difference(
    tmp_path_factory: pytest.TempPathFactory, chunks: list[bytes]
) -> None:
    originals, whole = FolderOriginals(tmp_path_factory.mktemp("cut")), b"".join(chunks)
    kept = asyncio.run(originals.keep(pieces(*chunks), LIMIT))
    assert kept == (hashlib.sha256(whole).hexdigest(), len(whole))
    assert asyncio.run(originals.read(kept[0])) == whole


async def test_the_same_bytes_twice_even_at_once_are_one_file(folder: Path) -> None:
    originals = FolderOriginals(folder)
    kept = await asyncio.gather(*(originals.keep(pieces(b"ab", b"c"), LIMIT) for _ in range(8)))
    assert set(kept) == {(ABC, 3)}
    assert files_in(folder) == [f"ba/{ABC}"]


async def test_nobody_else_on_the_machine_may_look_in(folder: Path) -> None:
    before = os.umask(0)
    try:
        await FolderOriginals(folder).keep(pieces(b"abc"), LIMIT)
    finally:
        os.umask(before)
    assert modes_in(folder) == {("folder", 0o700), ("file", 0o600)}


async def test_a_file_of_the_limit_is_kept_and_one_byte_more_is_not(folder: Path) -> None:
    originals = FolderOriginals(folder)
    with pytest.raises(FileTooLarge, match="over 1 MB") as refusal:
        await originals.keep(pieces(bytes(LIMIT), b"1"), LIMIT)
    assert refusal.value.limit_bytes == LIMIT
    assert files_in(folder) == []
    assert (await originals.keep(pieces(bytes(LIMIT)), LIMIT))[1] == LIMIT


async def test_a_sender_that_breaks_off_leaves_nothing_and_is_told_as_it_was(folder: Path) -> None:
    async def broken() -> AsyncIterator[bytes]:
        yield b"half"
        raise ConnectionResetError("gone")  # an OSError, but not the disk's

    with pytest.raises(ConnectionResetError):
        await FolderOriginals(folder).keep(broken(), LIMIT)
    assert files_in(folder) == []


async def test_a_cancelled_upload_leaves_nothing(folder: Path) -> None:
    waiting = asyncio.Event()

    async def endless() -> AsyncIterator[bytes]:
        yield b"half"
        waiting.set()
        await asyncio.Event().wait()

    upload = asyncio.create_task(FolderOriginals(folder).keep(endless(), LIMIT))
    await waiting.wait()
    upload.cancel()
    with pytest.raises(asyncio.CancelledError):
        await upload
    assert files_in(folder) == []


@pytest.mark.parametrize("turns", range(4))
async def test_an_upload_cancelled_while_its_file_is_opened_leaves_nothing_open_or_aside(
    folder: Path, turns: int
) -> None:
    (folder / "aside").mkdir(parents=True)
    for _ in range(25):  # the thread that opens may be before, in or after its work
        upload = asyncio.create_task(FolderOriginals(folder).keep(pieces(b"abc"), LIMIT))
        for _ in range(turns):
            await asyncio.sleep(0)
        upload.cancel()
        with pytest.raises(asyncio.CancelledError):
            await upload
    await asyncio.get_running_loop().shutdown_default_executor()
    assert files_in(folder) == []
    assert [name for name in open_files() if "aside" in name] == []


@pytest.mark.parametrize(
    "name",
    [
        "",
        "../secret",
        "/etc/hostname",
        ABC.upper(),
        ABC[:-1],
        ABC + "0",
        ABC[:-1] + "\n",
        f"ba/{ABC}",
        f"{ABC}/../../../secret",
        "0" * 64,
    ],
)
async def test_what_is_no_hash_or_was_never_kept_is_not_there(folder: Path, name: str) -> None:
    originals = FolderOriginals(folder)
    await originals.keep(pieces(b"abc"), LIMIT)
    (folder.parent / "secret").write_bytes(b"secret")
    with pytest.raises(KeyError):
        await originals.read(name)


async def test_a_folder_that_cannot_be_is_one_sentence_with_the_systems_reason(tmp_path: Path) -> None:
    (tmp_path / "file").write_bytes(b"")
    with pytest.raises(StoreUnavailable, match=r"^[^.]+\(Not a directory\)[^.]+\.$"):
        await FolderOriginals(tmp_path / "file" / "originals").keep(pieces(b"abc"), LIMIT)


def run(program: str, folder: Path) -> subprocess.Popen[str]:
    """A process of its own that keeps files in `folder`."""
    head = (
        "import asyncio, os, resource, sys\n"
        "from pathlib import Path\n"
        "from storage.originals import FolderOriginals\n"
        "from bot.model.errors import StoreUnavailable\n"
        "originals = FolderOriginals(Path(sys.argv[1]))\n"
    )
    return subprocess.Popen(
        [sys.executable, "-c", head + program, str(folder)],
        cwd=ROOT, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True,
    )  # fmt: skip


def test_a_disk_that_takes_no_more_leaves_nothing_behind(folder: Path) -> None:
    # RLIMIT_FSIZE makes the kernel refuse the write in its middle, as a full disk does.
    program = """
async def large():
    for _ in range(40):
        yield bytes(10_000)
async def main():
    resource.setrlimit(resource.RLIMIT_FSIZE, (105_000, 105_000))
    try:
        await originals.keep(large(), 1_000_000)
    except StoreUnavailable as refusal:
        print(refusal)
asyncio.run(main())
"""
    with run(program, folder) as child:
        said, _ = child.communicate()
    assert said == "The folder of originals failed (File too large): see to its disk, then send again.\n"
    assert files_in(folder) == []


def every_name_matches(folder: Path) -> bool:
    names = [path for path in folder.glob("??/*") if path.is_file()]
    return all(hashlib.sha256(path.read_bytes()).hexdigest() == path.name for path in names)


def test_a_process_killed_amid_a_file_leaves_it_aside_and_the_sweep_takes_it(folder: Path) -> None:
    program = """
async def stuck():
    yield bytes(300_000)
    yield bytes(300_000)
    print("amid", flush=True)
    sys.stdin.read()
asyncio.run(originals.keep(stuck(), 1_000_000))
"""
    with run(program, folder) as child:
        assert child.stdout is not None
        assert child.stdout.readline() == "amid\n"
        child.send_signal(signal.SIGKILL)
    (left,) = files_in(folder)
    assert left.startswith("aside/")
    assert asyncio.run(FolderOriginals(folder).sizes()) == {}
    made_long_ago(folder / left)
    assert asyncio.run(FolderOriginals(folder).sweep(set(), HOUR, 1_000_000.0)) == [Path(left).name]
    assert files_in(folder) == []


@pytest.mark.parametrize(("step", "left"), [("os.rename", "aside"), ("os.remove", "ba")])
def test_a_process_killed_at_the_naming_leaves_the_whole_file_on_one_side_of_it(
    folder: Path, step: str, left: str
) -> None:
    # The interpreter tells of a rename or a removal just before it asks the system for it.
    program = f"""
import signal
async def pieces():
    yield b"abc"
sys.addaudithook(lambda event, args: event == {step!r} and os.kill(os.getpid(), signal.SIGKILL))
asyncio.run(originals.keep(pieces(), 1_000_000))
"""
    with run(program, folder) as child:
        pass
    assert child.returncode == -signal.SIGKILL
    (file,) = (path for path in folder.rglob("*") if path.is_file())
    assert (file.parent.name, file.read_bytes()) == (left, b"abc")
    assert every_name_matches(folder)


@pytest.mark.parametrize("after", [1, 3, 8, 21, 34])
def test_a_process_killed_at_any_instant_leaves_no_name_that_lies(folder: Path, after: int) -> None:
    # It is killed as soon as it has said that it kept so many, so anywhere in one of those after.
    program = """
async def pieces(number):
    for _ in range(number % 7 + 1):
        yield os.urandom(number % 5 * 20_000 + 1)
async def main():
    number = 0
    while True:
        number += 1
        print((await originals.keep(pieces(number), 1_000_000))[0], flush=True)
asyncio.run(main())
"""
    with run(program, folder) as child:
        assert child.stdout is not None
        told = [child.stdout.readline().strip() for _ in range(after)]
        child.send_signal(signal.SIGKILL)
        told += [line.strip() for line in child.stdout if line.endswith("\n")]
    assert every_name_matches(folder)
    assert set(told) <= asyncio.run(FolderOriginals(folder).sizes()).keys()
    assert len(list((folder / "aside").iterdir())) <= 1


async def test_the_sweep_takes_only_what_is_old_and_named_by_no_record(folder: Path) -> None:
    originals = FolderOriginals(folder)
    named, young, orphan = [
        (await originals.keep(pieces(it), LIMIT))[0] for it in (b"named", b"young", b"orphan")
    ]
    (folder / "aside" / "left").write_bytes(b"half")
    (folder / "aside" / "arriving").write_bytes(b"half")
    for old in (folder / named[:2] / named, folder / orphan[:2] / orphan, folder / "aside" / "left"):
        made_long_ago(old)
    for new in (folder / young[:2] / young, folder / "aside" / "arriving"):
        os.utime(new, (1_000_000.0 - HOUR, 1_000_000.0 - HOUR))
    assert await originals.sweep({named}, HOUR, 1_000_000.0) == ["left", orphan]
    assert (await originals.sizes()).keys() == {named, young}
    assert (folder / "aside" / "arriving").exists()


async def test_an_old_orphan_that_arrives_again_is_young_again(folder: Path) -> None:
    originals = FolderOriginals(folder)
    await originals.keep(pieces(b"abc"), LIMIT)
    made_long_ago(folder / "ba" / ABC)
    await originals.keep(pieces(b"abc"), LIMIT)
    assert await originals.sweep(set(), HOUR, 1_000_000.0) == []


async def test_an_empty_store_has_nothing_to_sweep_to_check_or_to_count(folder: Path) -> None:
    originals = FolderOriginals(folder)
    assert (await originals.sweep(set(), 0.0, 1e12), await originals.check(), await originals.sizes()) == (
        [],
        [],
        {},
    )


async def test_checking_names_the_files_whose_bytes_were_touched_and_no_others(folder: Path) -> None:
    originals = FolderOriginals(folder)
    kept = sorted([(await originals.keep(pieces(bytes([it])), LIMIT))[0] for it in range(6)])
    (folder / "aside" / "left").write_bytes(b"half")
    (folder / kept[0][:2] / f"{kept[0][:2]}-note.txt").write_bytes(b"not ours")
    (folder / kept[4][:2] / kept[4]).write_bytes(b"other")
    with (folder / kept[1][:2] / kept[1]).open("ab") as file:
        file.write(b"more")
    assert await originals.check() == [kept[1], kept[4]]


async def test_touched_bytes_are_put_right_when_the_same_file_arrives_again(folder: Path) -> None:
    originals = FolderOriginals(folder)
    await originals.keep(pieces(b"abc"), LIMIT)
    (folder / "ba" / ABC).write_bytes(b"xyz")
    await originals.keep(pieces(b"abc"), LIMIT)
    assert (await originals.check(), await originals.read(ABC)) == ([], b"abc")
