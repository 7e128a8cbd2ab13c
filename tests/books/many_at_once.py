"""One of several processes that post the same documents to the same folder, each in its own order.

python many_at_once.py BOOKS WORKER TURNS DOCUMENTS_A_TURN REPORTS
"""

import json
import random
import sys
from collections import Counter
from pathlib import Path

sys.path[:0] = [str(Path(__file__).resolve().parent), str(Path(__file__).resolve().parents[2])]

from book_samples import DAY, random_posting  # noqa: E402

from estimator.books.post import post  # noqa: E402


def document(number):
    return random_posting(random.Random(number), f"LY-{number}")


def main(books, worker, turns, size, reports):
    order = list(range(turns))
    random.Random(worker).shuffle(order)
    counts: Counter[str] = Counter()
    for turn in order:
        numbers = list(range(turn * size, (turn + 1) * size))
        random.Random(worker + turn).shuffle(numbers)
        result = post(
            [document(number) for number in numbers], books, f"person {worker}", today=DAY, reports=bool(reports)
        )
        counts.update(item.status for item in result.documents)
    print(json.dumps(counts))


if __name__ == "__main__":
    main(Path(sys.argv[1]), *map(int, sys.argv[2:]))
