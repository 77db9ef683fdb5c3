#!/usr/bin/env python3
"""Checks tracked text files: no download hosts or machine paths in lock files and scripts, no tabs or trailing blanks in
sources, every source under src/ within a readable size. Exit 1 names every breach."""
import pathlib
import re
import subprocess
import sys

ROOT = pathlib.Path(__file__).resolve().parent.parent
FILES = subprocess.run(["git", "ls-files", "-z"], cwd=ROOT, capture_output=True, check=True).stdout.decode().split("\0")
LONGEST_SOURCE_LINES = 800
PATHS = re.compile(r"(?<![\w.])/(home|root|Users)/\w")

faults = []
for name in filter(None, FILES):
    path = ROOT / name
    if not path.is_file() or path.suffix in (".png", ".pdf", ".woff2") or name.startswith("tests/bad_files/"):
        continue
    try:
        text = path.read_text(encoding="utf-8")
    except UnicodeDecodeError:
        continue  # example stock lists may be in other encodings on purpose
    lines = text.splitlines()
    for number, line in enumerate(lines, 1):
        if PATHS.search(line):
            faults.append(f"{name}:{number}: a path of one machine")
        if path.name == "package-lock.json" and '"resolved":' in line:
            faults.append(f"{name}:{number}: a download host in a lock file")
        if path.suffix in (".h", ".cpp", ".py") and (line != line.rstrip() or "\t" in line):
            faults.append(f"{name}:{number}: tab or trailing blank")
    if name.startswith("src/") and path.suffix in (".h", ".cpp") and len(lines) > LONGEST_SOURCE_LINES:
        faults.append(f"{name}: {len(lines)} lines; past {LONGEST_SOURCE_LINES} it is two concepts")

print("\n".join(faults) if faults else "text files are clean")
sys.exit(1 if faults else 0)
