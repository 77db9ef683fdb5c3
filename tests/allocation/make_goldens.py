#!/usr/bin/env python3
"""Generates the instances listed in goldens.txt (and plain small ones for the comparison with CBC) into a folder.

    make_goldens.py FOLDER
"""
import multiprocessing
import os
import sys

import generate_instances

HERE = os.path.dirname(os.path.abspath(__file__))
SMALL_SEEDS = range(501, 517)  # S, every kind in turn


def generate(job):
    folder, name, arguments = job
    path = os.path.join(folder, name + ".json")
    if os.path.exists(path):
        return
    sys.argv = ["generate_instances.py"] + arguments + ["-o", path + ".part"]
    generate_instances.main()
    os.replace(path + ".part", path)


def main():
    folder = sys.argv[1]
    os.makedirs(folder, exist_ok=True)
    jobs = []
    with open(os.path.join(HERE, "goldens.txt"), encoding="utf-8") as lines:
        for line in lines:
            words = line.split()
            if words and not line.startswith("#"):
                jobs.append((folder, words[0], words[3:]))
    kinds = [[], ["--slack", "0.3"], ["--kind", "short", "--scale", "0.8"], ["--web", "0.5"],
             ["--kind", "short", "--scale", "0.7"], ["--kind", "starved"]]
    for seed in SMALL_SEEDS:
        jobs.append((folder, f"small-{seed}", ["--size", "S", "--seed", str(seed)] + kinds[seed % len(kinds)]))
    jobs.sort(key=lambda job: "XL" not in job[2])  # the longest first
    with multiprocessing.Pool(min(4, os.cpu_count() or 1)) as pool:
        pool.map(generate, jobs, chunksize=1)


if __name__ == "__main__":
    main()
