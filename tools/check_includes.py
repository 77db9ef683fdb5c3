#!/usr/bin/env python3
"""Checks the include direction: a folder includes only folders below it, theory never sideways, JSON and TOML only
where they belong, another folder's kinds never. The order is the one of src/CMakeLists.txt; exit 1 names every breach."""
import pathlib
import re
import sys

ROOT = pathlib.Path(__file__).resolve().parent.parent / "src"
ORDER, LAYER = [], {}
layer = ""
for line in (ROOT / "CMakeLists.txt").read_text(encoding="utf-8").splitlines():
    if match := re.match(r"# layer: (.*)", line):
        layer = match.group(1)
    elif match := re.match(r"add_subdirectory\((\w+)\)", line):
        ORDER.append(match.group(1))
        LAYER[match.group(1)] = layer

# Third-party headers and the only folders that may see them. A test may use any of them.
ONLY_IN = {
    "toml++": {"document"},
    "nlohmann": {"document", "report", "dossier", "serve", "cli"},
    "cairo-pdf.h": {"dossier"},
    "pango": {"dossier"},
    "glib.h": {"dossier"},
    "httplib.h": {"serve"},
    "lemon": {"looks"},
    "CLI": {"cli"},
    "Eigen": {"structure", "balance", "linkage", "drivetrain", "calibration"},
}

faults = []
for path in sorted(ROOT.rglob("*.[hc]*")):
    if path.suffix not in (".h", ".cpp"):
        continue
    where = path.relative_to(ROOT)
    folder, test = where.parts[0], path.name.endswith("_test.cpp")
    if folder not in ORDER:
        faults.append(f"src/{where}: folder '{folder}' is not in src/CMakeLists.txt")
        continue
    for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), 1):
        match = re.match(r'\s*#\s*include\s*([<"])([^>"]+)[>"]', line)
        if not match:
            continue
        name = match.group(2)
        top = name.split("/")[0]
        if match.group(1) == "<":
            allowed = ONLY_IN.get(top)
            if allowed and folder not in allowed and not test:
                faults.append(f"src/{where}:{number}: <{name}> belongs to {', '.join(sorted(allowed))}")
            continue
        if "/" not in name:
            faults.append(f'src/{where}:{number}: "{name}" must name its folder')
            continue
        if top not in ORDER:
            faults.append(f'src/{where}:{number}: "{name}" is in no known folder')
            continue
        if top == folder:
            inner = where.parts[1] if len(where.parts) > 2 else ""
            other = name.split("/")[1] if name.count("/") > 1 else ""
            if folder == "functions" and other and inner != other and other != "drive" and not test:
                faults.append(f"src/{where}:{number}: a kind does not include another kind ({name})")
            continue
        if ORDER.index(top) > ORDER.index(folder):
            faults.append(f"src/{where}:{number}: {folder} may not include upward ({name})")
        elif LAYER[top].startswith("theory") and LAYER[folder].startswith("theory"):
            faults.append(f"src/{where}:{number}: theory folders do not include each other ({name})")
        elif top == "functions" and folder in ("allocation", "assessment"):
            faults.append(f"src/{where}:{number}: {folder} knows candidates, never kinds ({name})")

print("\n".join(faults) if faults else f"{len(ORDER)} folders, every include points down")
sys.exit(1 if faults else 0)
