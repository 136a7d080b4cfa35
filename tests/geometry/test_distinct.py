import numpy as np
import pytest

from planner.geometry import distinct


@pytest.mark.parametrize("values", [[], [4], [2, 1, 2, 2, -7, 1], [0.5, -0.5, 0.5, np.inf]])
def test_different_values_are_those_of_numpy(values):
    array = np.array(values)
    assert distinct(array).tolist() == np.unique(array).tolist()
    assert array.tolist() == values
