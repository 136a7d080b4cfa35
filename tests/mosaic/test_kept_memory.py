import platform
import subprocess
import sys

import pytest

COUNT = """
import resource
import numpy as np
from planner.mosaic.kept_memory import keep_freed_memory

def faults():
    before = resource.getrusage(resource.RUSAGE_SELF).ru_minflt
    for _ in range(100):
        first = np.ones(40_000)
        second = first + first
        del first, second
    return resource.getrusage(resource.RUSAGE_SELF).ru_minflt - before

fresh = faults()
keep_freed_memory()
print(fresh, faults())
"""


@pytest.mark.skipif(platform.libc_ver()[0] != "glibc", reason="other libraries keep memory in their own way")
def test_arrays_get_memory_that_is_there():
    found = subprocess.run([sys.executable, "-c", COUNT], capture_output=True, text=True, check=True)
    fresh, kept = map(int, found.stdout.split())
    assert kept < fresh / 10
