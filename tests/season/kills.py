"""Children that are killed at random instants of their work."""

import os
import random
import signal
import time


def after_kills(work, took_s, count, seed):
    """After each child that does ``work(killed)`` or is killed (SIGKILL) in it, how many were
    killed so far, until ``count`` were. ``took_s`` is what the work takes.

    A child that ends by itself shows that the machine is faster now than it was, and must have
    done its work.
    """
    rng, killed, latest_s = random.Random(seed), 0, took_s
    while killed < count:
        child = os.fork()
        if child == 0:
            try:
                work(killed)
                os._exit(0)
            finally:
                os._exit(1)
        time.sleep(rng.uniform(0, latest_s))
        os.kill(child, signal.SIGKILL)
        status = os.waitpid(child, 0)[1]
        if os.WIFEXITED(status):
            assert os.WEXITSTATUS(status) == 0
            latest_s *= 0.9
        else:
            killed += 1
        yield killed
    assert latest_s > took_s / 20, "too short for the last steps to be reached"
