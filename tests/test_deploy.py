"""What `deploy/` holds for those who keep a line: it installs, and each file is fit for its reader."""

from __future__ import annotations

import os
import platform
import re
import shutil
import subprocess
from pathlib import Path
from secrets import token_hex

import pytest

from tests.channels.gateway import free_ports
from tests.talk import SETUP
from tests.test_cli import ROOT

DEPLOY = ROOT / "deploy"


def run(*command: object, called_from: Path = ROOT, **environment: str) -> subprocess.CompletedProcess[str]:
    told = {**os.environ, **environment}
    words = [*map(str, command)]
    return subprocess.run(words, cwd=called_from, env=told, capture_output=True, text=True, timeout=300)


def test_a_newcomer_installs_it_into_an_empty_folder_and_is_told_what_is_left_to_do(tmp_path: Path) -> None:
    (tmp_path / "unit.toml").write_text(SETUP)
    into = ("--no-service", "--prefix", "program", "--store", "store")  # in the folder it is called from
    # A place for packages that this machine's own settings name and that is gone: pip warns of it.
    gone = str(tmp_path / "gone")
    done = run("sh", DEPLOY / "install", *into, "--unit", "unit.toml", called_from=tmp_path, PIP_FIND_LINKS=gone)
    assert done.returncode == 0, done.stderr
    assert "WARNING" not in done.stderr
    assert re.search(r"^\d+ changes on record\.\nR1: http://127\.0\.0\.1:8765/in/\w{40}$", done.stdout, re.MULTILINE)
    assert "No phone can reach the web chat: set public_url and put an HTTPS proxy before it." in done.stdout
    again = run("sh", DEPLOY / "install", *into, "--backup", "safe", called_from=tmp_path)
    assert (tmp_path / "store" / "key").exists()
    assert again.returncode == 0, again.stderr
    assert "The store is of this release already; nothing was done." in again.stdout


def test_what_the_installer_said_is_shown_where_it_failed(tmp_path: Path) -> None:
    (tmp_path / "unit.toml").write_text(SETUP)
    into = ("--no-service", "--prefix", tmp_path / "program", "--store", tmp_path / "store")
    failed = run("sh", DEPLOY / "install", *into, "--unit", tmp_path / "unit.toml", PIP_NO_INDEX="1", PIP_FIND_LINKS="")
    assert failed.returncode == 2
    assert "No matching distribution found" in failed.stderr
    assert failed.stderr.endswith("is there a way to a package registry? Run this again.\n")


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        (("--no-service", "--store", "{tmp}/store"), "Name the setup file: --unit unit.toml"),
        (("--unit",), "--unit needs a value after it."),
        (("--fast",), "--fast is not an option; see the first lines of deploy/install."),
        (("--no-service", "--unit", "{tmp}/none.toml"), "none.toml cannot be read; name your setup file"),
        (("--no-service", "--unit", "unit.toml"), "unit.toml cannot be read; name your setup file"),
        (
            ("--no-service", "--unit", f"{ROOT}/README.md", "--prefix", "/proc/none"),
            "/proc/none cannot be made; name another place with --prefix.",
        ),
    ],
)
def test_an_install_that_was_asked_wrongly_touches_nothing(
    words: tuple[str, ...], sentence: str, tmp_path: Path
) -> None:
    done = run("sh", DEPLOY / "install", *(word.format(tmp=tmp_path) for word in words))
    assert done.returncode == 2
    assert sentence in done.stderr
    assert list(tmp_path.iterdir()) == []


def test_the_service_may_do_little_on_its_machine(tmp_path: Path) -> None:
    # The yardstick is systemd's own, `systemd-analyze security`: below 2.0 it says OK.
    if shutil.which("systemd-analyze") is None:
        pytest.skip("no systemd-analyze here (Debian: systemd)")
    unit = tmp_path / "coldjar.service"
    text = (DEPLOY / "service" / "coldjar.service").read_text()
    unit.write_text(text.replace("@PREFIX@", "/opt/coldjar").replace("@STORE@", "/var/lib/coldjar"))
    judged = run("systemd-analyze", "security", "--offline=true", unit)
    exposure = re.search(r"exposure level for coldjar.service: (\d+\.\d)", judged.stdout)
    assert exposure is not None, judged.stderr
    assert float(exposure[1]) < 2.0


def test_the_container_file_passes_a_linter() -> None:
    # hadolint knows the reference of container files and what goes wrong in them.
    if platform.machine() != "x86_64":
        pytest.skip("the linter of container files is packaged for x86_64 alone")
    linted = run("hadolint", DEPLOY / "container" / "Containerfile")
    assert (linted.returncode, linted.stdout) == (0, "")


def test_no_file_for_keepers_holds_a_secret_or_says_how_to_make_a_weak_one() -> None:
    for file in (path for path in DEPLOY.rglob("*") if path.is_file()):
        text = file.read_text()
        assert not re.search(r"(?i)(password|token|secret)\s*[=:]\s*[\"']?\w{6,}", text), file
        assert "CHANGE THIS" not in text, file


@pytest.mark.parametrize("missing", ["admin-password", "smsc-username", "smsc-password"])
def test_the_sms_gateway_does_not_start_before_its_keeper_gave_it_each_password(missing: str, tmp_path: Path) -> None:
    # The judge is the bearerbox itself (Debian's kannel): it refuses by its own rules.
    bearerbox = shutil.which("bearerbox") or "/usr/sbin/bearerbox"
    if not Path(bearerbox).exists():
        pytest.skip("no bearerbox: apt-get install kannel kannel-extras")
    carrier, box = ((DEPLOY / "kannel" / name).read_text() for name in ("network-carrier.conf", "bearerbox.conf"))
    for given in {"smsc-username", "smsc-password"} - {missing}:
        carrier += f"{given} = {token_hex(16)}\n"
    if missing != "admin-password":
        box = box.replace("admin-port = 13000", f"admin-port = 13000\nadmin-password = {token_hex(16)}")
    (tmp_path / "network.conf").write_text(carrier.replace("carrier.example", "127.0.0.1"))
    box = box.replace("/etc/kannel/network.conf", str(tmp_path / "network.conf"))
    for port in ("13000", "13001"):
        box = box.replace(f"port = {port}", f"port = {free_ports(1)[0]}")
    (tmp_path / "bearerbox.conf").write_text(box.replace("/var/spool/kannel/store", str(tmp_path / "store")))
    refused = run(bearerbox, tmp_path / "bearerbox.conf")
    assert refused.returncode != 0
    assert {"admin-password": "You MUST set HTTP admin-password", "smsc-username": "doesn't specify username",
            "smsc-password": "doesn't specify password"}[missing] in refused.stdout + refused.stderr  # fmt: skip
