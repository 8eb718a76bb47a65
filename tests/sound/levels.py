"""How loud a line of samples is."""

import numpy as np


def loudest_db(line: np.ndarray, rate: int) -> float:
    """The highest effective level of any 125 ms, below full scale."""
    width = rate // 8
    sums = np.cumsum(np.concatenate([np.zeros(width), line**2, np.zeros(width)]))
    return 10 * np.log10((sums[width:] - sums[:-width]).max() / width)
