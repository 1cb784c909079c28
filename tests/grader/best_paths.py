"""Every cause worked once as well as can be; shared by tests, which only look."""

from functools import cache

from tests.grader.foggy import Worker


@cache
def best_worker(cause: str) -> Worker:
    """Confirm, take the best choice up to the right call; judged, not verified, not closed."""
    worker = Worker(cause)
    worker.confirm()
    worker.go_on_best()
    worker.know()
    return worker
