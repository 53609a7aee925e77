"""How fast the product is, beside the libraries and by size. Run by hand, it is no test; minutes.

python -m tests.bench.speed [--quick] [--only scaling posterior rules start]

One processor throughout. Wants a quiet machine: each section prints the load it ran under.
"""

import argparse
import os
import warnings

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # before numpy is imported

from diagnose.kb.cache import load_knowledge
from diagnose.kb.files import shipped_folder
from tests.bench import rules, scaling, startup

SECTIONS = ("scaling", "posterior", "rules", "start")  # scaling first: its memory must be its own


def main() -> None:
    """Run the sections asked for, all unless told otherwise."""
    parser = argparse.ArgumentParser(prog="python -m tests.bench.speed", description=str(__doc__).split("\n")[0])
    sections = ", ".join(SECTIONS)
    parser.add_argument("--only", nargs="+", choices=SECTIONS, default=SECTIONS, metavar="SECTION", help=sections)
    parser.add_argument("--quick", action="store_true", help="fewer runs, no 3,000 causes")
    args = parser.parse_args()
    warnings.simplefilter("ignore")  # the libraries' own
    kb = load_knowledge(shipped_folder("knowledge"))
    if "scaling" in args.only:
        scaling.main(scaling.SIZES[:-1] if args.quick else scaling.SIZES, args.quick)
    if "posterior" in args.only:
        from tests.bench import inference  # needs pyAgrum and pgmpy, which take seconds to import

        inference.main(kb, args.quick)
    if "rules" in args.only:
        rules.main(kb, args.quick)
    if "start" in args.only:
        startup.main(args.quick)


if __name__ == "__main__":
    main()
