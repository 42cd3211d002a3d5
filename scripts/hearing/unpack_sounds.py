#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Downloads the packages of data/sounds.json from Debian and unpacks what the manifest names.

Nothing is installed. Each package becomes PACKAGE_VERSION under build/sounds (or LULL_SOUNDS) with
its clips and its copyright file. What cannot be had is named and passed over, and the exit status
is 0: the loader leaves those clips out and says so.
"""
import hashlib
import json
import pathlib
import shutil
import subprocess
import sys
import tarfile
import tempfile
from fnmatch import fnmatchcase

import sound_files
import sounds


class Missing(Exception):
    """Why a package is not available."""


def say(text):
    print(f"unpack_sounds.py: {text}", file=sys.stderr)


class Wanted:
    """The files of one package that the manifest names, found by the paths inside the package."""

    def __init__(self, groups):
        named = {f"{group['folder']}/{name}" for group in groups for name, _ in group["files"]}
        self.exact = {path for path in named if "*" not in path}
        self.archives = {str(folder) for path in named  # an archive's own name has no *
                         for folder in pathlib.PurePath(path.split("*")[0] + "?").parents}
        self.patterns = {}  # by the file's own name, where the folder has *
        for path in named - self.exact:
            self.patterns.setdefault(pathlib.PurePath(path).name, []).append(path)

    def names(self, path):
        return path in self.exact or any(fnmatchcase(path, pattern) for pattern in
                                         self.patterns.get(pathlib.PurePath(path).name, ()))

    def names_inside(self, path):
        """Whether the manifest names members of this file, which then is an archive."""
        return path in self.archives


def download(package, folder):
    """The package file of exactly the manifest's version, with its digest checked."""
    name = f"{package['package']}={package['version']}"
    done = subprocess.run(["apt-get", "download", "-q", "-o", "APT::Sandbox::User=root", name],
                          cwd=folder, capture_output=True, text=True, check=False)
    found = list(pathlib.Path(folder).glob("*.deb"))
    if done.returncode or not found:
        reason = (done.stderr.strip().splitlines() or ["no reason given"])[-1]
        raise Missing(f"{name}: cannot be downloaded: {reason}")
    with open(found[0], "rb") as file:
        digest = hashlib.file_digest(file, "sha256").hexdigest()
    if digest != package["deb_sha256"]:
        raise Missing(f"{name}: SHA-256 is {digest}, the manifest says {package['deb_sha256']}")
    return found[0]


def write(path, data):
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(data)


def unpack(deb, wanted, place):
    """Clips and copyright of one package file."""
    with subprocess.Popen(["dpkg-deb", "--fsys-tarfile", str(deb)], stdout=subprocess.PIPE) as process, \
            tarfile.open(fileobj=process.stdout, mode="r|") as archive:
        for entry in archive:
            path = entry.name.removeprefix("./")
            if not entry.isfile():
                continue
            if wanted.names(path) or path.startswith("usr/share/doc/") and path.endswith("/copyright"):
                write(place / path, archive.extractfile(entry).read())
            elif wanted.names_inside(path):
                for member, data in sound_files.members(path, archive.extractfile(entry).read()):
                    if wanted.names(f"{path}/{member}"):
                        write(place / path / member, data)


def faults(package, groups):
    """The faults of an unpacked package, one line for each group of files."""
    for group in groups:
        place = sounds.place_of(package["package"], package["version"], group["folder"])
        names = [name for name, _ in group["files"]]
        missing = [name for name in names if not (place / name).is_file()]
        if missing:
            yield f"{place}: {len(missing)} of {len(names)} files are not there, the first is {missing[0]}"
        elif sounds.digest_of(place, names) != group["digest"]:
            yield f"{place}: files that match {group['match']} differ from the manifest's digest"


def fetch(package, groups):
    """Unpacks one package and gives it its final name when complete; again where the manifest changed."""
    if not list(faults(package, groups)):
        return
    say(f"{package['package']}, {package['mib']} MiB")
    place = sounds.package_folder(package["package"], package["version"])
    part = place.with_name(place.name + ".part")
    shutil.rmtree(part, ignore_errors=True)
    with tempfile.TemporaryDirectory() as folder:
        unpack(download(package, folder), Wanted(groups), part)
    shutil.rmtree(place, ignore_errors=True)
    part.rename(place)
    for fault in faults(package, groups):
        say(fault)


def main():
    read = json.loads(sounds.MANIFEST.read_text(encoding="utf-8"))
    sounds.folder().mkdir(parents=True, exist_ok=True)
    missing = 0
    for package in read["packages"]:
        try:
            fetch(package, [g for g in read["groups"] if g["package"] == package["package"]])
        except (Missing, OSError, tarfile.TarError) as fault:
            say(fault)
            missing += 1
    if missing:
        say(f"{missing} packages could not be had; their clips are left out")


if __name__ == "__main__":
    main()
