"""Factors and solves an exported system with a public sparse solver.

Prints one line: seconds for factor and solve, then what took them. The best
of the orderings that suit. One thread.
"""

import sys
import time

try:
    import numpy as np
    from scipy.sparse import csc_matrix
    from scipy.sparse.linalg import splu
except ImportError as error:
    sys.exit(f"scipy is needed for the comparison ({error})")


def read(path):
    with open(path, "rb") as file:
        rows, columns, entries, redundant, pairs = np.fromfile(file, "<u8", 5).astype(int)
        starts = np.fromfile(file, "<u8", columns + 1).astype(np.int64)
        indices = np.fromfile(file, "<u4", entries).astype(np.int32)
        values = np.fromfile(file, "<f8", entries)
        right = np.fromfile(file, "<f8", rows)
        matrix = csc_matrix((values, indices, starts.astype(np.int32)), shape=(rows, columns))
        if not redundant:
            return matrix, None, right
        diagonal = np.fromfile(file, "<f8", columns)
        first = np.fromfile(file, "<u4", pairs).astype(np.int64)
        second = np.fromfile(file, "<u4", pairs).astype(np.int64)
        coupled = np.fromfile(file, "<f8", pairs)
        return matrix, (diagonal, first, second, coupled), right


def stiffness(matrix, flexibility):
    """K = B D Bt over what gives; rows held by what does not are left out."""
    diagonal, first, second, coupled = flexibility
    gives = diagonal > 0
    held = np.unique(matrix[:, ~gives].indices)
    free = np.setdiff1d(np.arange(matrix.shape[0]), held)
    stiff = np.zeros_like(diagonal)
    stiff[gives] = 1 / diagonal[gives]
    determinant = diagonal[first] * diagonal[second] - coupled**2
    stiff[first] = diagonal[second] / determinant
    stiff[second] = diagonal[first] / determinant
    across = -coupled / determinant
    every = np.arange(len(diagonal))
    middle = csc_matrix(
        (
            np.concatenate([stiff, across, across]),
            (np.concatenate([every, first, second]), np.concatenate([every, second, first])),
        )
    )
    part = matrix[free, :]
    return (part @ middle @ part.T).tocsc(), free


def superlu(matrix, right, orderings, **options):
    best = None
    for ordering in orderings:
        start = time.thread_time()
        factor = splu(matrix, permc_spec=ordering, **options)
        factor.solve(right)
        seconds = time.thread_time() - start
        if best is None or seconds < best[0]:
            best = (seconds, f"SuperLU {ordering}")
        del factor
    return best


def cholmod(matrix, right):
    try:
        from sksparse.cholmod import cholesky
    except ImportError:
        return None
    start = time.thread_time()
    cholesky(matrix)(right)
    return time.thread_time() - start, "CHOLMOD"


def main():
    matrix, flexibility, right = read(sys.argv[1])
    found = []
    if flexibility is None:
        found.append(superlu(matrix, right, ["COLAMD", "MMD_AT_PLUS_A"]))
    else:
        system, free = stiffness(matrix, flexibility)
        right = right[free]
        found.append(cholmod(system, right))
        symmetric = {"options": {"SymmetricMode": True}, "diag_pivot_thresh": 0.0}
        found.append(superlu(system, right, ["MMD_AT_PLUS_A"], **symmetric))
    seconds, name = min(result for result in found if result is not None)
    print(f"{seconds:.4f} {name}")


main()
