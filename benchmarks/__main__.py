"""Runs the cases and prints one table; `--quick` runs each once or twice, as a smoke test."""

from __future__ import annotations

import argparse
import sys

from benchmarks import (
    batch,
    cover,
    covers,
    doubt,
    explained,
    former,
    hard,
    joining,
    kits,
    ledger,
    listing,
    one_pack,
    period,
    safe,
    serve,
    startup,
    stock_kit,
    tell,
    two_ways,
    whole_unit,
)
from benchmarks.table import Row, Skipped, print_table

CASES = {
    "one-pack": one_pack.run,
    "whole-unit": whole_unit.run,
    "start-up": startup.run,
    "hard": hard.run,
    "explained": explained.run,
    "doubt": doubt.run,
    "two-ways": two_ways.run,
    "joining": joining.run,
    "safe": safe.run,
    "batch": batch.run,
    "ledger": ledger.run,
    "listing": listing.run,
    "cover": cover.run,
    "stock-kit": stock_kit.run,
    "kits": kits.run,
    "serve": serve.run,
    "tell": tell.run,
    "period": period.run,
    "covers": covers.run,
    "former": former.run,
}


def main() -> None:
    """Run the cases named, or all."""
    parser = argparse.ArgumentParser(prog="python -m benchmarks", description=__doc__)
    parser.add_argument("cases", nargs="*", metavar="case", help=", ".join(CASES))
    parser.add_argument("--quick", action="store_true", help="a smoke run of tiny settings")
    asked = parser.parse_args()
    unknown = [name for name in asked.cases if name not in CASES]
    if unknown:
        parser.error(f"found {unknown[0]}; the cases are {', '.join(CASES)}")
    found: list[Row | Skipped] = []
    for name in asked.cases or CASES:
        print(f"timing {name} ...", file=sys.stderr)
        found += CASES[name](quick=asked.quick)
    print_table([row for row in found if isinstance(row, Row)])
    for row in found:
        if isinstance(row, Skipped):
            print(f"skipped {row.case}: {row.why}")


if __name__ == "__main__":
    main()
