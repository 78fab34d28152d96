"""Drawings, fonts, hostile files and published cases that others made, fetched for the tests and never kept here.

Each set is one package of one exact version, asked for through the ordinary client of its registry (`pip`, `npm`,
`apt-get`), checked against the hash below, and unpacked into `.venv/outside/NAME`: only drawings, pictures, fonts,
hostile files and licence notes, never a program. What cannot be had (no network, no client) leaves its reason, and the
tests that need it skip with that reason. The licences were read in the packages themselves.

    python packaging/outside_data.py            fetch what is missing, show what is there
    python packaging/outside_data.py --list     the table alone

Tests say `outside_data("picosvg")` (a fixture, see tests/outside/conftest.py) or `cases("picosvg", "*-before.svg")`
(to parametrise, see tests/outside_cases.py).
"""

import argparse
import functools
import hashlib
import json
import os
import re
import shutil
import subprocess
import sys
import tarfile
import tempfile
import zipfile
from collections.abc import Container, Iterable
from dataclasses import dataclass
from pathlib import Path, PurePosixPath

ROOT = Path(__file__).resolve().parent.parent

# What is unpacked: these endings, and files whose name says licence.
KEPT = {".svg", ".svgz", ".png", ".jpg", ".xml", ".xsl", ".ttf", ".otf", ".woff2", ".css", ".geojson", ".txt"}
KEPT_NAMES = ("licen", "copyright", "copying", "ofl", "readme")

CLIENT_SECONDS = 240  # a registry that has not answered by then is taken as not there


class Missing(Exception):
    """A set cannot be had here; the text says why."""


@dataclass(frozen=True)
class OutsideSet:
    """One set: which package carries it, how its content is recognised, what it is for."""

    name: str
    client: str  # pip, npm, apt, or apt-source for a Debian source package
    package: str
    version: str
    sha256: str  # of the archive; of the unpacked folder for Debian's, whose archives differ by machine
    folder: str  # where in the unpacked package the set lies
    licence: str
    purpose: str
    others: tuple[tuple[str, str], ...] = ()  # folder and hash in other releases of the package that were looked at

    @property
    def known(self) -> dict[str, str]:
        """Return the folder by the hash, for every release that will do."""
        return {self.sha256: self.folder} | {sha256: folder for folder, sha256 in self.others}


_RSVG = "usr/libexec/installed-tests/RSVG/fixtures"  # Debian 12, version 2.54
_RSVG_260 = "usr/libexec/rsvg/tests/fixtures"  # Debian 13, version 2.60
_GEOS_313 = "geos-3.13.1/tests/xmltester/tests"  # Debian 13

SETS = {
    one.name: one
    for one in (
        OutsideSet(
            "w3c-svg11",
            "apt",
            "librsvg2-tests",
            "2.54 or 2.60",
            "7a9d8a4286a1da203c98b361aafdbc0d0f6714af1ef3c596109587cac4bc0517",
            f"{_RSVG}/reftests/svg1.1",
            "BSD-3-Clause (W3C), debian/copyright",
            "the W3C SVG 1.1 suite: X.svg beside its picture X-ref.png",
            ((f"{_RSVG_260}/reftests/svg1.1", "87e1bcfdc3371065b719b6de2ebd5ead8dced9b403ded3ce10dce1d14f802ded"),),
        ),
        OutsideSet(
            "librsvg-fixtures",
            "apt",
            "librsvg2-tests",
            "2.54 or 2.60",
            "e95ab891437f4b57ebdfc5c2068f7dfc90f6aacaf3731cf1a0fb66386a4a4e09",
            _RSVG,
            "LGPL-2.0-or-later, debian/copyright",
            "files that once crashed or hung a reader, files with remote references, further pairs with pictures",
            ((_RSVG_260, "bdc6694b2de01798cddbfa747cceee359f55cb037c6b25d0ea0ae7dd5bfd33a3"),),
        ),
        OutsideSet(
            "picosvg",
            "pip",
            "picosvg",
            "0.23.0",
            "a3616d5eb3ee810e74a931ffa68e2c36cd06a2eef24400a97dc07c0e6cc5eb4c",
            "picosvg-0.23.0/tests",
            "Apache-2.0, LICENSE",
            "before and after pairs: strokes turned into shapes, clips, use, transforms",
        ),
        OutsideSet(
            "hostile-xml",
            "pip",
            "defusedxml",
            "0.7.1",
            "1bb3032db185915b62d7c6209c5a8792be6a32ab2fedacc84e01b52c51aa3e69",
            "defusedxml-0.7.1/xmltestdata",
            "PSF-2.0, LICENSE",
            "entity bombs, cyclic and external entities, document types",
        ),
        OutsideSet(
            "twemoji",
            "npm",
            "@twemoji/svg",
            "15.0.0",
            "1d2907557a422c7c4e3feca50ef915c39da1db3d76b4a4d7e73fb59bce4403c3",
            "package",
            "package: MIT, license; the art's own licence is not stated inside (CC-BY-4.0, from memory)",
            "flat art in several colours, no strokes",
        ),
        OutsideSet(
            "flag-icons",
            "npm",
            "flag-icons",
            "7.5.0",
            "c0b80bf0e08006a60f56621d6bc49f8c7131f4d1fef6737a165a673431f4b518",
            "package/flags",
            "MIT, LICENSE",
            "clips, strokes, transforms, fine heraldry: the hardest set",
        ),
        OutsideSet(
            "circle-flags",
            "npm",
            "circle-flags",
            "2.8.3",
            "a53d254c010bb22955e7823c406ec80b8176ffff05758fd21bf5151512c0e56a",
            "package/flags",
            "MIT, LICENSE.md",
            "masked art",
        ),
        OutsideSet(
            "tabler",
            "npm",
            "@tabler/icons",
            "3.52.0",
            "626620c7d42afd2f294fba167ce4653b5cb946336d186b4991c70b700e5616af",
            "package/icons",
            "MIT, LICENSE",
            "live strokes with round joins and caps (outline), single-colour shapes (filled)",
        ),
        OutsideSet(
            "mdi",
            "npm",
            "@mdi/svg",
            "7.4.47",
            "de92e5dc9ce46c392ab5c53aa7190b19f82b40cb48872a083f788c7e13e91fef",
            "package/svg",
            "Apache-2.0 (Pictogrammers Free License), LICENSE",
            "single-colour shapes written as compact path data with arcs",
        ),
        OutsideSet(
            "pacifico",
            "npm",
            "@expo-google-fonts/pacifico",
            "0.4.1",
            "0db305f7c2a715a876071a53dc42b847e73d5072ca0853e1e4991164ab06d83f",
            "package",
            "OFL-1.1, LICENSE_FONT",
            "script font as plain .ttf: every pair of letters overlaps",
        ),
        OutsideSet(
            "dancing-script",
            "npm",
            "@fontsource/dancing-script",
            "5.3.0",
            "e392efa74afec672f1c97f8699a16bb8439c8aca1a367ddb5cd035f11e70e31a",
            "package",
            "OFL-1.1, LICENSE",
            "script font as .woff2: every pair of letters overlaps",
        ),
        OutsideSet(
            "lobster",
            "npm",
            "@fontsource/lobster",
            "5.3.0",
            "4ac6f6ab805b684026cb719f55dd605c892ca5d1db3f32fca88ca554a63b86d7",
            "package",
            "OFL-1.1, LICENSE",
            "script font as .woff2: some pairs overlap",
        ),
        OutsideSet(
            "great-vibes",
            "npm",
            "@fontsource/great-vibes",
            "5.3.0",
            "0bfdc957fa42a6d17288fce79a9299dab14742b77bdbb223c4385739d4035ca9",
            "package",
            "OFL-1.1, LICENSE",
            "script font as .woff2: some pairs overlap, hairlines",
        ),
        OutsideSet(
            "leckerli-one",
            "npm",
            "@fontsource/leckerli-one",
            "5.3.0",
            "280bd75d7e47021642c881e9411c8097f11371819ea0e3c5b51592f0bfff1b84",
            "package",
            "OFL-1.1, LICENSE",
            "script font as .woff2: every pair of letters overlaps",
        ),
        OutsideSet(
            "kaushan-script",
            "npm",
            "@fontsource/kaushan-script",
            "5.3.0",
            "1d665df77f4bcd3fbf106c9adc1405fc1d0ec492270d5c23b597f00da2f6515d",
            "package",
            "OFL-1.1, LICENSE",
            "script font as .woff2: no pair overlaps (control)",
        ),
        OutsideSet(
            "geos-cases",
            "apt-source",
            "geos",
            "3.11.1 or 3.13.1",
            "86ac732181a0c87caa4897f9643290ddb7717a3c3d52a3c483b3c73cc517db8a",
            "geos-3.11.1/tests/xmltester/tests",
            "LGPL-2.1, COPYING",
            "GEOS and JTS test cases: two geometries, an operation and the published result (WKT or WKB in XML)",
            (
                (
                    "geos-3.13.1/tests/xmltester/tests",
                    "d95c2c724c26d0153f54c15daca2dc5125f9051d775de001fd888a0bb4793da3",
                ),
            ),
        ),
        OutsideSet(
            "clipper2-cases",
            "pip",
            "clipper2-py",
            "0.1.1",
            "9c73d66b5042f404d1f01ac21d2ca57b75c5d658aeeda00f84bfacb7d7caf6a6",
            "clipper2_py-0.1.1/third_party/Clipper2/Tests",
            "BSL-1.0, LICENSE",
            "195 polygon-clipping cases with fill rule, operation and the published area and number of rings",
        ),
        OutsideSet(
            "polygon-clipping-cases",
            "npm",
            "polygon-clipping",
            "0.7.0",
            "475f910c917470099bcad25d73583b4700037dc45cc8ae1d2f262f45bee6e5f3",
            "package/test/end-to-end",
            "MIT, LICENSE",
            "cases for the sweep of Martinez, Rueda and Feito 2009, degenerate ones above all, with their results",
        ),
    )
}


def store() -> Path:
    """Return the folder that the sets are unpacked into."""
    return Path(os.environ.get("BLADEWISE_OUTSIDE") or ROOT / ".venv" / "outside")


def where(name: str) -> Path:
    """Return the folder of a set.

    Raises
    ------
    Missing
        The set is not there; the text says why and what would bring it.
    KeyError
        There is no set of that name.
    """
    wanted = SETS[name]
    if _is_there(wanted):
        return _place(wanted)
    reason = _note(wanted).get("missing", "not fetched yet: python3 packaging/fresh.py test fetches it")
    raise Missing(f"outside data '{name}' ({wanted.package} {wanted.version}): {reason}")


def files_of(name: str, pattern: str = "**/*.svg") -> list[Path]:
    """Return the files of a set that match, sorted; none when the set is not there."""
    try:
        return sorted(where(name).glob(pattern))
    except Missing:
        return []


def fetch(names: Iterable[str] = ()) -> dict[str, str]:
    """Fetch every set that is not there yet, and return the reasons of those that cannot be had."""
    missing: dict[str, str] = {}
    silent: dict[str, str] = {}  # clients that did not answer; asking again would only wait again
    with tempfile.TemporaryDirectory() as scratch:
        download = functools.cache(functools.partial(_download, Path(scratch)))
        for wanted in [SETS[name] for name in names] or SETS.values():
            if _is_there(wanted):
                continue
            reason = silent.get(wanted.client, "")
            try:
                if not reason:
                    _keep(wanted, download(wanted.client, wanted.package, wanted.version, _archive_hash(wanted)))
            except Missing as said:
                reason = str(said)
            except (subprocess.TimeoutExpired, OSError) as error:
                reason = silent[wanted.client] = f"{wanted.client} did not deliver ({type(error).__name__})"
            if reason:
                missing[wanted.name] = reason
                _write_note(wanted, {"missing": reason})
    return missing


def tree_hash(folder: Path, endings: Container[str] = (".svg", ".png")) -> str:
    """Return a SHA-256 over the names and contents of a folder's drawings and pictures, in the order of their names."""
    total = hashlib.sha256()
    for path in sorted(p for p in folder.rglob("*") if p.suffix in endings):
        total.update(path.relative_to(folder).as_posix().encode() + b"\0" + hashlib.sha256(path.read_bytes()).digest())
    return total.hexdigest()


# --- the clients --------------------------------------------------------------------------------------------------


def _archive_hash(wanted: OutsideSet) -> str:
    return "" if wanted.client.startswith("apt") else wanted.sha256


def _download(scratch: Path, client: str, package: str, version: str, sha256: str) -> Path:
    """Fetch one package and return the folder it was unpacked into."""
    folder = Path(tempfile.mkdtemp(dir=scratch))
    clients = {"pip": _from_pip, "npm": _from_npm, "apt": _from_apt, "apt-source": _from_apt_source}
    archive = clients[client](folder, package, version, sha256)
    if sha256:
        found = hashlib.sha256(archive.read_bytes()).hexdigest()
        if found != sha256:
            raise Missing(f"the archive has SHA-256 {found}, not the one it is pinned to")
    unpacked = folder / "unpacked"
    if client == "apt":
        _ask(["dpkg-deb", "-x", str(archive), str(unpacked)], folder)
    else:
        _unpack(archive, unpacked)
    return unpacked


def _from_pip(folder: Path, package: str, version: str, sha256: str) -> Path:
    # pip asks an sdist for its metadata, which runs its build script; with the hash required it does so only when
    # the archive is the very one that was looked at.
    wish = folder / "wish.txt"
    wish.write_text(f"{package}=={version} --hash=sha256:{sha256}\n", encoding="utf-8")
    arguments = [sys.executable, "-m", "pip", "download", "--no-deps", "--no-binary", package, "--require-hashes"]
    arguments += ["--retries", "1", "--disable-pip-version-check", "--quiet", "-d", str(folder), "-r", str(wish)]
    _ask(arguments, folder)
    return _only(folder, "*.tar.gz", "*.zip")


def _from_npm(folder: Path, package: str, version: str, _sha256: str) -> Path:
    npm = shutil.which("npm")
    if npm is None:
        raise Missing("npm is not on this machine")
    _ask([npm, "pack", f"{package}@{version}", "--silent", "--ignore-scripts", "--fetch-retries=1"], folder)
    return _only(folder, "*.tgz")


def _from_apt(folder: Path, package: str, _version: str, _sha256: str) -> Path:
    if shutil.which("apt-get") is None or shutil.which("dpkg-deb") is None:
        raise Missing("this system has no apt-get, and the set comes from Debian")
    command = ["apt-get", "download", "-q", package]
    try:
        _ask(command, folder)
    except Missing:
        if getattr(os, "geteuid", lambda: 1)() != 0:
            raise
        _ask(["apt-get", "update", "-q"], folder)  # a fresh machine has no lists yet
        _ask(command, folder)
    return _only(folder, "*.deb")


def _from_apt_source(folder: Path, package: str, _version: str, _sha256: str) -> Path:
    """Fetch a source package's own archive; the machine's lists are read for where from, and left as they are."""
    if shutil.which("apt-get") is None:
        raise Missing("this system has no apt-get, and the set comes from Debian's sources")
    lists, parts = folder / "lists", folder / "parts"
    (lists / "partial").mkdir(parents=True)
    parts.mkdir()
    found = [Path("/etc/apt/sources.list"), *sorted(Path("/etc/apt/sources.list.d").glob("*"))]
    for number, entry in enumerate(path for path in found if path.suffix in {".list", ".sources"} and path.is_file()):
        text = entry.read_text(encoding="utf-8")
        text = re.sub(r"^deb(?=\s)", "deb-src", re.sub(r"^Types:.*$", "Types: deb-src", text, flags=re.M), flags=re.M)
        (parts / f"{number}{entry.suffix}").write_text(text, encoding="utf-8")
    places = {"Dir::Etc::sourcelist": "/dev/null", "Dir::Etc::sourceparts": parts, "Dir::State::lists": lists}
    options = [word for name, value in places.items() for word in ("-o", f"{name}={value}")]
    _ask(["apt-get", *options, "update", "-q"], folder)
    _ask(["apt-get", *options, "source", "-q", "--download-only", package], folder)
    return _only(folder, "*.orig.tar.*")


def _ask(command: list[str], folder: Path) -> None:
    """Run a client; when it says no, its last line becomes the reason."""
    done = subprocess.run(
        command, cwd=folder, stdin=subprocess.DEVNULL, capture_output=True, text=True, timeout=CLIENT_SECONDS
    )
    if done.returncode != 0:
        said = [line for line in (done.stderr + done.stdout).splitlines() if line.strip()] or ["no reason given"]
        raise Missing(f"{Path(command[0]).name} could not fetch it: {said[-1].strip()}")


def _only(folder: Path, *patterns: str) -> Path:
    found = [path for pattern in patterns for path in folder.glob(pattern)]
    if len(found) != 1:
        raise Missing(f"expected one archive, found {len(found)}")
    return found[0]


# --- unpacking and keeping ----------------------------------------------------------------------------------------


def _wanted_name(name: str) -> PurePosixPath | None:
    """Return the path a member may be written to, or None for what is not wanted or not safe."""
    path = PurePosixPath(name)
    if path.is_absolute() or ".." in path.parts or not path.name:
        return None
    keep = path.suffix.lower() in KEPT or path.name.lower().startswith(KEPT_NAMES)
    return path if keep else None


def _unpack(archive: Path, target: Path) -> None:
    def write(path: PurePosixPath, data: bytes) -> None:
        out = target / path
        out.parent.mkdir(parents=True, exist_ok=True)
        out.write_bytes(data)

    if archive.suffix == ".zip":
        with zipfile.ZipFile(archive) as bundle:
            for entry in bundle.infolist():
                if (path := _wanted_name(entry.filename)) and not entry.is_dir():
                    write(path, bundle.read(entry))
        return
    with tarfile.open(archive, "r:*") as roll:
        for member in roll:
            if member.isfile() and (path := _wanted_name(member.name)) and (stream := roll.extractfile(member)):
                write(path, stream.read())


def _keep(wanted: OutsideSet, unpacked: Path) -> None:
    """Move what is wanted of an unpacked package to its place, all or nothing."""
    sha256 = _recognised(wanted, unpacked) if wanted.client.startswith("apt") else wanted.sha256
    folder = wanted.known[sha256]
    source = unpacked / folder
    if not source.is_dir():
        raise Missing(f"the package holds no folder {folder}")
    place = store() / wanted.name
    fresh = place.with_name(f"{wanted.name}.new")
    for old in (place, fresh):
        shutil.rmtree(old, ignore_errors=True)
    shutil.copytree(source, fresh / folder)
    for note in [p for p in unpacked.rglob("*") if p.is_file() and p.name.lower().startswith(KEPT_NAMES[:4])]:
        out = fresh / note.relative_to(unpacked)
        out.parent.mkdir(parents=True, exist_ok=True)
        shutil.copyfile(note, out)
    fresh.replace(place)
    _write_note(wanted, {"sha256": sha256})


def _recognised(wanted: OutsideSet, unpacked: Path) -> str:
    """Return the known hash that an unpacked Debian package's folder has."""
    endings = (".xml",) if wanted.client == "apt-source" else (".svg", ".png")
    for sha256, folder in wanted.known.items():
        if (unpacked / folder).is_dir() and tree_hash(unpacked / folder, endings) == sha256:
            return sha256
    raise Missing(f"the files of this system's {wanted.package} are not those that were looked at ({wanted.version})")


def _place(wanted: OutsideSet) -> Path:
    return store() / wanted.name / wanted.known.get(_note(wanted).get("sha256", ""), "not-there")


def _is_there(wanted: OutsideSet) -> bool:
    return _place(wanted).is_dir()


def _note(wanted: OutsideSet) -> dict[str, str]:
    try:
        note: dict[str, str] = json.loads((store() / f"{wanted.name}.json").read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return {}
    return note


def _write_note(wanted: OutsideSet, note: dict[str, str]) -> None:
    store().mkdir(parents=True, exist_ok=True)
    (store() / f"{wanted.name}.json").write_text(json.dumps(note), encoding="utf-8")


def main() -> int:
    """Fetch what is missing and print the table; always 0, since a set that cannot be had is only skipped."""
    parser = argparse.ArgumentParser(description="Fetch the drawings, fonts and hostile files that the tests use.")
    parser.add_argument("--list", action="store_true", help="only show what is there")
    parser.add_argument("names", nargs="*", help="the sets wanted; all of them when none is named")
    given = parser.parse_args()
    if not given.list:
        fetch(given.names)
    for name, wanted in SETS.items():
        try:
            state = f"{sum(1 for path in where(name).rglob('*') if path.is_file())} files"
        except Missing as reason:
            state = str(reason).partition("): ")[2]
        print(f"{name:16} {wanted.package} {wanted.version}; {wanted.licence}; for: {wanted.purpose}; {state}")
    return 0


if __name__ == "__main__":
    sys.exit(main())
