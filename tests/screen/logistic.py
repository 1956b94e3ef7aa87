"""The two scores as logistic regressions: their terms from the program's columns, and the fit that the weights in
src/screen/scores.cpp came from, repeated without the fold that is judged."""
import numpy as np


def above(x, hinge, most):
    return np.clip(x - hinge, 0, most)


def octaves(x, least, most, unit):
    return np.log2(np.clip(x, least, most) / unit)


def rain_terms(d):
    return np.column_stack([
        octaves(d["drops"], 0.5, 4.6, 1), above(d["tail"], 0.15, 0.8), above(d["tail"], 0.3, 0.5), above(d["crackle"], 1.06, 0.68),
        above(d["tilt"], 2, 12), above(-d["tilt"], 8, 20), above(d["surge"], 0.8, 4), above(d["swing"], 14, 20),
        above(d["throb"], 0.1, 0.2)])


def engine_terms(d):
    return np.column_stack([
        octaves(d["throb"], 0.05, 0.8, 0.05), octaves(d["hum"], 0.006, 0.15, 0.006), above(-d["lines"], -0.98, 0.15),
        above(d["whine"], 0.04, 0.1), octaves(d["flicker"], 0.7, 3, 1), np.clip(d["slope"], -5, 2),
        above(d["swing"], 20, 10), above(d["rumble"], 16, 10)])


def frog_points(d):
    """Taken off an engine's score: set by hand, not fitted."""
    rise = lambda x, least, most: np.clip((x - least) / (most - least), 0, 1)
    points = -30 * rise(d["hump"], 3, 6) * rise(d["lines"], 0.8, 0.9) * (1 - rise(d["memory"], 0.35, 0.45))
    return np.where(np.isnan(points), 0, points)


RAIN_WEIGHTS = {"rain": 1, "helicopter": 1, "chainsaw": 1, "sea-waves": 1, "rooster": .7, "animals": 1, "fire": .15,
                "wind": .4, "rapids": .4, "cicadas": .4, "crickets": .4, "quiet": .6, "murmur": 0, "generator": .3, "boat": .3,
                "slow boat": 0, "dripping": 0, "low frogs": .2, "clicks": .4}
ENGINE_WEIGHTS = {"helicopter": 1.5, "chainsaw": 1, "generator": .3, "boat": .3, "slow boat": 0, "rain": 1, "sea-waves": 1,
                  "rooster": .8, "animals": .8, "fire": .5, "wind": .6, "rapids": .4, "cicadas": .4, "crickets": .4,
                  "quiet": .6, "murmur": 2, "dripping": .2,
                  "low frogs": 0, "clicks": .2}


def sample_weights(labels, folds, weights, positive):
    """A label's weight, shared alike by its folds and by the files of each; both sides the same sum."""
    w = np.zeros(len(labels))
    for label in set(labels):
        here = labels == label
        for fold in set(folds[here]):
            there = here & (folds == fold)
            w[there] = weights[label] / len(set(folds[here])) / there.sum()
    w[positive] *= w[~positive].sum() / w[positive].sum()
    return w / w.mean()


def fit(x, y, w, ridge):
    """Weights and constant by Newton's method with a ridge on standardised terms."""
    middle, spread = x.mean(0), x.std(0) + 1e-9
    z = np.column_stack([(x - middle) / spread, np.ones(len(x))])
    penalty = np.eye(z.shape[1]) * ridge * len(z)
    penalty[-1, -1] = 0
    b = np.zeros(z.shape[1])
    for _ in range(80):
        p = 1 / (1 + np.exp(-np.clip(z @ b, -30, 30)))
        gradient = z.T @ (w * (p - y)) + penalty @ b
        step = np.linalg.solve((z * (w * p * (1 - p))[:, None]).T @ z + penalty + 1e-9 * np.eye(len(b)), gradient)
        b -= step * min(1, 3 / np.abs(step).max())
        if np.abs(step).max() < 1e-7:
            break
    return b[:-1] / spread, b[-1] - np.sum(b[:-1] * middle / spread)


def held_out(x, y, labels, folds, weights, ridge, shift):
    """Scores of every file under weights fitted without its fold, `shift` taken off as in scores.cpp."""
    scores = np.zeros(len(x))
    for fold in sorted(set(folds)):
        test = folds == fold
        train = ~test
        w = sample_weights(labels[train], folds[train], weights, y[train])
        b, start = fit(x[train], y[train].astype(float), w, ridge)
        scores[test] = x[test] @ b + start - shift
    return scores
