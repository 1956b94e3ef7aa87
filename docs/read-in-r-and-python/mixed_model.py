#!/usr/bin/python3
"""Reads Hearwood's tables with pandas and fits a mixed model: stand (and block) as fixed effects, site as random
effect, a row for each site and date.

    python3 mixed_model.py SURVEY/hearwood/tables INDEX WINDOW [BLOCK]

BLOCK is a column of sites.csv, such as river. The model is fitted by restricted maximum likelihood, written out
below with numpy and scipy, so that nothing else need be installed: with the ratio r of the two variances given, the
rest has a closed form, and r is found by a search over one number.
"""
import sys
from pathlib import Path

import numpy as np
import pandas as pd
from scipy.optimize import minimize_scalar


def restricted_fit(y, x, groups):
    """Coefficients, their standard errors, and the deviations between and within groups."""
    n, p = x.shape

    def solve(ratio):
        # Covariance of a group of k rows, in units of the residual variance: I + ratio * ones. Its inverse is
        # I - ratio / (1 + k ratio) * ones, its determinant 1 + k ratio.
        xtx, xty, yty, log_det = np.zeros((p, p)), np.zeros(p), 0.0, 0.0
        for rows in groups:
            k = len(rows)
            xg, yg = x[rows], y[rows]
            w = ratio / (1 + k * ratio)
            xtx += xg.T @ xg - w * np.outer(xg.sum(0), xg.sum(0))
            xty += xg.T @ yg - w * xg.sum(0) * yg.sum()
            yty += yg @ yg - w * yg.sum() ** 2
            log_det += np.log(1 + k * ratio)
        beta = np.linalg.solve(xtx, xty)
        variance = (yty - beta @ xty) / (n - p)
        criterion = (n - p) * np.log(variance) + log_det + np.linalg.slogdet(xtx)[1]
        return criterion, beta, variance, xtx

    def criterion(log_ratio):
        return solve(np.exp(log_ratio))[0]

    # The criterion may be flat at one end: a coarse look first, then the search around the best.
    grid = np.linspace(-18, 12, 121)
    best = grid[np.argmin([criterion(g) for g in grid])]
    found = minimize_scalar(criterion, bounds=(best - 0.5, best + 0.5), method="bounded", options={"xatol": 1e-10})
    ratio = np.exp(found.x)
    _, beta, variance, xtx = solve(ratio)
    errors = np.sqrt(variance * np.diag(np.linalg.inv(xtx)))
    return beta, errors, np.sqrt(ratio * variance), np.sqrt(variance)


def main(tables, index, window, block=None):
    tables = Path(tables)
    values = pd.read_csv(tables / "site_windows.csv")
    sites = pd.read_csv(tables / "sites.csv")
    contrasts = pd.read_csv(tables / "contrasts.csv")

    row = contrasts[(contrasts["index"] == index) & (contrasts["window"] == window)].iloc[0]
    values = values[(values["window"] == window) & values[index].notna()]
    values = values[values["stand"].isin([row["class_a"], row["class_b"]])].reset_index(drop=True)
    columns = [np.ones(len(values)), (values["stand"] == row["class_a"]).to_numpy(float)]
    if block:
        of_site = values["site"].map(sites.set_index("site")[block])
        columns += [(of_site == level).to_numpy(float) for level in sorted(of_site.unique())[1:]]
    groups = [np.asarray(rows) for rows in values.groupby("site").indices.values()]
    y = values[index].to_numpy(float)
    scale = y.std()
    beta, errors, between, within = restricted_fit((y - y.mean()) / scale, np.column_stack(columns), groups)

    print("quantity,value")
    print(f"difference,{beta[1] * scale:.9g}")
    print(f"standard_error,{errors[1] * scale:.9g}")
    print(f"site_deviation,{between * scale:.9g}")
    print(f"date_deviation,{within * scale:.9g}")
    print(f"sites,{len(groups)}")
    print(f"rows,{len(values)}")
    print(f"permutation_difference,{row['difference']:.9g}")


if __name__ == "__main__":
    if len(sys.argv) not in (4, 5):
        sys.exit(__doc__)
    main(*sys.argv[1:])
