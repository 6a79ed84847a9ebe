"""The evidence functions over grids, against SciPy and statsmodels (Debian's packages).

Usage: grid_test.py PRINT_GRID
"""

import subprocess
import sys

try:
    import numpy as np
    from scipy.special import expit, polygamma
    from scipy.stats import beta, norm
    from statsmodels.stats.proportion import proportion_confint
except ImportError as missing:
    # A skip, unless tests/run has put them where evidence.grid is told to find them: then a failure.
    print(f"not compared: {missing}. tests/run gets SciPy and statsmodels, for build/dev")
    sys.exit(77)

CLOSE = dict(rtol=1e-8, atol=1e-12)


def expected_proportion(hits, trials, confidence):
    hits, trials = int(hits), int(trials)
    wilson = proportion_confint(hits, trials, alpha=1 - confidence, method="wilson")
    exact = proportion_confint(hits, trials, alpha=1 - confidence, method="beta")
    exact = (0.0 if hits == 0 else exact[0], 1.0 if hits == trials else exact[1])
    upper = 1.0 if hits == trials else beta.ppf(confidence, hits + 1, trials - hits)
    return [*wilson, *exact, upper]


FEW = np.array([[48, 0, 0, 0, 0, 2], [1, 17, 0, 0, 0, 2], [3, 1, 4, 0, 0, 2], [0] * 6, [0, 0, 0, 0, 30, 0]])
MANY = np.array([[9620, 30, 0, 0, 0, 350], [4, 1876, 0, 0, 0, 120], [20, 5, 60, 0, 0, 15], [0] * 6,
                 [1, 0, 0, 0, 299, 0]])
PRIORS = np.array([0.9, 0.06, 0.02, 0, 0.02])


def expected_posterior(natural, unsure, rho):
    logs, variances = np.zeros(5), np.zeros(5)
    for counts, runs in ((FEW, [natural, 0, 0, 0, 0, unsure]), (MANY, [1, 0, 0, 0, 0, 0])):
        runs = np.array(runs)
        total = runs.sum()
        if total == 0:
            continue
        share = 1 / (1 + (total - 1) * rho)
        alpha = counts + 0.5
        whole = alpha.sum(axis=1)
        logs += share * (runs * np.log(alpha / whole[:, None])).sum(axis=1)
        # Covariance of the logarithms of a Dirichlet variable.
        covariance = [np.diag(polygamma(1, a)) - polygamma(1, w) for a, w in zip(alpha, whole)]
        variances += share**2 * np.array([runs @ c @ runs for c in covariance])
    weights = PRIORS * np.exp(logs)
    of = weights / weights.sum()
    # The gradient of the log odds by finite differences, where the function has it in closed form.
    odds = lambda logs: np.log(PRIORS[0]) + logs[0] - np.log((PRIORS[1:] * np.exp(logs[1:])).sum())
    step = 1e-6
    gradient = np.array([(odds(logs + step * e) - odds(logs - step * e)) / (2 * step) for e in np.eye(5)])
    reach = norm.ppf(0.95) * np.sqrt((gradient**2 * variances).sum())
    return [*of, expit(odds(logs) - reach), expit(odds(logs) + reach)]


def main():
    (program,) = sys.argv[1:]
    lines = subprocess.run([program], check=True, capture_output=True, text=True).stdout.splitlines()
    told = {"proportion": 0, "posterior": 0}
    for line in lines:
        arguments, results = line.split(" = ")
        name, *arguments = arguments.split()
        arguments = [float(a) for a in arguments]
        expected = (expected_proportion if name == "proportion" else expected_posterior)(*arguments)
        close = CLOSE if name == "proportion" else dict(rtol=1e-6, atol=1e-12)
        np.testing.assert_allclose([float(r) for r in results.split()], expected, err_msg=line, **close)
        told[name] += 1
    assert told["proportion"] == 9 * 6 * 6 and told["posterior"] == 5 * 3 * 3, told
    print("compared with SciPy and statsmodels:", told)


if __name__ == "__main__":
    main()
