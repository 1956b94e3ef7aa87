"""Values of sites from segments.csv, written apart from the program: numpy's lstsq on the whole matrix of dummies of
m + site + date + quarter of an hour, estimability by projection onto its row space, the sun by ephem."""
import ephem
import numpy as np
import pandas as pd


def dummies(numbers, count):
    return (np.asarray(numbers)[:, None] == np.arange(count)).astype(float)


def difference(unknowns, s, t):
    c = np.zeros(unknowns)
    c[1 + s] += 1
    c[1 + t] -= 1
    return c


def largest_group(x, site):
    """Of sites whose differences are estimable; ties: more rows, then the first site."""
    into_rows = np.linalg.pinv(x, rcond=1e-10) @ x
    groups = []
    for s in (s for s in range(site.shape[1]) if site[:, s].any()):
        for group in groups:
            c = difference(x.shape[1], s, group[0])
            if np.abs(c @ into_rows - c).max() < 1e-8:
                group.append(s)
                break
        else:
            groups.append([s])
    return max(groups, key=lambda g: (len(g), site[:, g].sum(), -g[0]))


def additive(rows, values, sites):
    """rows: (site from 0, date, cell), each once. [(value, cells, comparable, leans)] of each site."""
    out = [(np.nan, 0, 0, np.nan)] * sites
    if len(rows) == 0:
        return out
    rows = np.asarray(rows)
    dates, date = np.unique(rows[:, 1], return_inverse=True)
    cells, cell = np.unique(rows[:, 2], return_inverse=True)
    site = dummies(rows[:, 0], sites)
    x = np.hstack([np.ones((len(rows), 1)), site, dummies(date, len(dates)), dummies(cell, len(cells))])
    group = largest_group(x, site)
    theta = np.linalg.lstsq(x, values, rcond=1e-10)[0]
    inside = np.isin(rows[:, 0], group)
    b = theta[1 + sites:][np.unique(date[inside])].mean()
    g = theta[1 + sites + len(dates):][np.unique(cell[inside])].mean()
    inverse = np.linalg.pinv(x.T @ x, rcond=1e-12)
    levels = len(np.unique(date[inside])) * len(np.unique(cell[inside]))
    for s in range(sites):
        out[s] = (np.nan, int(site[:, s].sum()), 0, np.nan)
        if s in group:
            c = -np.mean([difference(x.shape[1], t, s) for t in group], axis=0)
            leans = c @ inverse @ c * levels / (1 - 1 / len(group)) if len(group) > 1 else np.nan
            out[s] = (theta[0] + theta[1 + s] + b + g, out[s][1], 1, leans)
    return out


def sunset(site, date, offset_h):
    observer = ephem.Observer()
    observer.lat, observer.lon = str(site.latitude), str(site.longitude)
    observer.pressure, observer.horizon = 0, "-0:50"
    observer.date = ephem.Date((pd.Timestamp(date) + pd.Timedelta(hours=12 - offset_h)).to_pydatetime())
    return pd.Timestamp(observer.next_setting(ephem.Sun(), use_center=True).datetime()) + pd.Timedelta(hours=offset_h)


def with_quarters(segments, sites, offset_h):
    """Kept, complete segments in windows with `date` and `quarter`; the built-in windows, and others by the clock."""
    kept = segments[(segments.kept == 1) & (segments.complete == 1) & segments.window.notna()].copy()
    local = pd.to_datetime(kept.start_local.str.replace(r"[+-]\d\d:\d\d$", "", regex=True))
    middle = local + pd.to_timedelta(kept.duration_s / 2, unit="s")
    evening = middle.where(~((kept.window == "night") & (middle.dt.hour < 12)), middle - pd.Timedelta(days=1))
    kept["date"] = evening.dt.strftime("%Y-%m-%d")
    minutes = (middle - middle.dt.normalize()).dt.total_seconds() / 60
    minutes = minutes.where(~kept.window.isin(["dawn", "day"]), kept.minutes_from_sunrise)
    places = sites.set_index("site")
    for i in kept.index[kept.window.isin(["dusk", "night"])]:
        down = sunset(places.loc[kept.site[i]], kept.date[i], offset_h)
        minutes[i] = (middle[i] - down).total_seconds() / 60
    kept["quarter"] = np.floor(minutes / 15).astype(int)
    kept["hour"] = middle.dt.hour
    kept["local_date"] = middle.dt.strftime("%Y-%m-%d")
    return kept


def values_of(kept, columns, part, cell, date):
    """A row for each site and part, with the columns, `cells` and `leans` (of the design)."""
    names = sorted(kept.site.unique())
    keys = ["site", part, date] + ([cell] if cell else [])
    by_source = kept.groupby(keys + ["recorder", "channel"])[columns].mean()
    cells = by_source.groupby(level=list(range(len(keys)))).mean().reset_index()
    result = []
    for value, rows in cells.groupby(part):
        dates = {d: i for i, d in enumerate(sorted(rows[date].unique()))}
        places = [(names.index(r.site), dates[getattr(r, date)], getattr(r, cell) if cell else 0)
                  for r in rows.itertuples()]
        out = {name: {"site": name, part: value} for name in rows.site}
        for column in [None] + columns:
            y = np.zeros(len(rows)) if column is None else rows[column].to_numpy(float)
            there = ~np.isnan(y)
            fit = additive([p for p, t in zip(places, there) if t], y[there], len(names))
            for name, row in out.items():
                estimate = fit[names.index(name)]
                if column is None:
                    row.update(cells=estimate[1], leans=estimate[3])
                else:
                    row[column] = estimate[0]
        result.extend(out.values())
    return pd.DataFrame(result).set_index(["site", part])


def from_tables(folder, columns, offset_h):
    """(windows, hours) as windows.csv and hours.csv should have them."""
    sites, deployments = pd.read_csv(folder / "sites.csv"), pd.read_csv(folder / "deployments.csv")
    recorder = deployments.deployment
    if "recorder" in deployments:
        recorder = deployments.recorder.fillna(deployments.deployment)
    kept = pd.read_csv(folder / "segments.csv", low_memory=False)
    kept["recorder"] = kept.deployment.map(dict(zip(deployments.deployment, recorder)))
    kept = with_quarters(kept, sites, offset_h)
    return (values_of(kept, columns, "window", "quarter", "date"),
            values_of(kept, columns, "hour", None, "local_date"))
