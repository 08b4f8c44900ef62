"""Computes the results of a data package again, from its readings and the plan's numbers alone, and compares.

    python3 tests/recompute/recompute.py PACKAGE…

Nothing of the tool is used: the formulas are the published ones and those that its documentation states. For each table the count
of compared numbers and the worst relative deviation are printed. Ends with 1 where anything departs by more than 1e-9 (closed
forms), or 1e-3 of the half width (intervals, whose laws are convolved on grids).
"""

import sys

import comparisons
import loadings
import mechanics
import removals
import sweeps
from package import Package, Tally


def main():
    if len(sys.argv) < 2:
        sys.exit("which packages?")
    failed = False
    for folder in sys.argv[1:]:
        package, tally = Package(folder), Tally()
        sweeps.recompute(package, tally)
        loadings.recompute(package, tally)
        removals.recompute(package, tally)
        mechanics.recompute(package, tally)
        comparisons.recompute(package, tally)
        print(f"{package.folder.name}: {sum(line[0] for line in tally.lines.values())} numbers recomputed")
        for table, (count, worst, tolerance) in tally.lines.items():
            print(f"  {table}: {count} compared, worst deviation {worst:.1e}" + (f" (allowed {tolerance:g})" if tolerance else ""))
        if tally.wrong:
            failed = True
            print(f"{len(tally.wrong)} depart:")
            print("\n".join("  " + line for line in tally.wrong[:40]))
        if not tally.lines:
            failed = True
            print("nothing to compare")
    sys.exit(1 if failed else 0)


main()
