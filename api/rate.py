"""How many requests one address may make: a bucket that fills steadily and empties by one with each request."""

import math
import threading
import time
from collections import OrderedDict
from collections.abc import Callable
from typing import Final

_MOST_CLIENTS: Final = 10_000


class Rate:
    """So many requests a second on average, and so many at once after a pause; 0 = as many as anybody likes."""

    def __init__(self, per_second: float, at_once: int, clock: Callable[[], float] = time.monotonic) -> None:
        self._per_second, self._at_once, self._clock = per_second, at_once, clock
        self._lock = threading.Lock()
        self._buckets: OrderedDict[str, tuple[float, float]] = OrderedDict()  # client: (left, when)

    def wait_s(self, client: str) -> int:
        """Count a request; return 0 where it may pass, else how many seconds to wait."""
        if self._per_second <= 0:
            return 0
        with self._lock:
            moment = self._clock()
            left, when = self._buckets.pop(client, (float(self._at_once), moment))
            left = min(self._at_once, left + (moment - when) * self._per_second)
            passes = left >= 1
            self._buckets[client] = (left - 1 if passes else left, moment)
            while len(self._buckets) > _MOST_CLIENTS:
                self._buckets.popitem(last=False)
            return 0 if passes else max(1, math.ceil((1 - left) / self._per_second))
