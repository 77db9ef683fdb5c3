"""The installed program away from its sources: every file in its place, and the same answers.

usage: install_test.py BUILD_FOLDER
"""
import pathlib
import subprocess
import sys
import tempfile

WANTED = [
    "bin/kitwright",
    "share/man/man1/kitwright.1",
    "share/bash-completion/completions/kitwright",
    "share/zsh/vendor-completions/_kitwright",
    "share/kitwright/catalogue/metric8/system.toml",
    "share/kitwright/examples/tow_tractor/project.toml",
    "share/kitwright/schema/project.schema.json",
    "share/doc/kitwright/README.md",
    "share/doc/kitwright/copyright",
]


def run(*command, **more):
    return subprocess.run(command, capture_output=True, text=True, check=False, **more)


def main():
    build = pathlib.Path(sys.argv[1]).resolve()
    bad = []
    with tempfile.TemporaryDirectory() as folder:
        prefix = pathlib.Path(folder) / "usr"
        done = run("cmake", "--install", build, "--prefix", prefix)
        if done.returncode != 0:
            sys.exit(done.stderr)
        bad += [f"not installed: {name}" for name in WANTED if not (prefix / name).is_file()]

        program = prefix / "bin/kitwright"
        data = prefix / "share/kitwright"
        told = ["--json", "--catalogue", data / "catalogue"]
        here = run(program, *told, "design", data / "examples/tow_tractor", cwd=folder)
        there = run(build / "src/cli/kitwright", *told, "design", data / "examples/tow_tractor", cwd=folder)
        if here.returncode != 0 or here.stdout != there.stdout:
            bad.append(f"the installed program answers otherwise: exit {here.returncode} {here.stderr[:500]}")

        commands = [line.split()[0] for line in run(program, "--help").stdout.split("Subcommands:")[1].splitlines()
                    if line.startswith("  ") and not line.startswith("   ")]
        page = (prefix / "share/man/man1/kitwright.1").read_text()
        completion = prefix / "share/bash-completion/completions/kitwright"
        for command in commands:
            if f".SS kitwright \\fB{command}\\fR" not in page:
                bad.append(f"the manual page lacks {command}")
            for line in run(program, command, "--help").stdout.splitlines():
                option = line.strip().split(" ")[0].split(",")[-1]
                if line.startswith("  --") and option.replace("-", "\\-") not in page:
                    bad.append(f"the manual page lacks {command} {option}")
            offered = run("bash", "-c", 'source "$0"; COMP_WORDS=(kitwright "$1"); COMP_CWORD=1; _kitwright; '
                          'echo "${COMPREPLY[@]}"', completion, command[:3]).stdout.split()
            if command not in offered:
                bad.append(f"the completion does not offer {command}")
    print("\n".join(bad) or f"{len(WANTED)} files, {len(commands)} commands: installed and working")
    sys.exit(1 if bad else 0)


main()
