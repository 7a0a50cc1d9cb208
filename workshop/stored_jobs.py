"""Jobs as quotes, repairs and plans keep them, read once for the many pages that ask for them."""

import json
from collections.abc import Mapping
from functools import lru_cache
from typing import Any

from costing.job import Job
from costing.job_file import job_from_document

# The month of a very busy workshop; a job takes some 15 kB.
MOST_KEPT = 1_000


def stored_job(document: Mapping[str, Any]) -> Job:
    """Return the job that a stored job file describes.

    A job's value never changes, so equal files share one. They are told apart by their text, as
    1.0 and 1.00 are equal numbers that read differently.

    Raises
    ------
    CostError
        As `job_from_document` raises.
    """
    return _read(json.dumps(document, sort_keys=True))


@lru_cache(maxsize=MOST_KEPT)
def _read(text: str) -> Job:
    return job_from_document(json.loads(text))
