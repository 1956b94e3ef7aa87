// The page's data as the charts ask for it.
import { records } from "./dom.js";
import { mean, standardError } from "./numbers.js";

export class Survey {
  constructor(data) {
    Object.assign(this, data);
    this.siteByName = new Map(data.sites.map((site) => [site.name, site]));
    this.columnByName = new Map(data.columns.map((column) => [column.name, column]));
    this.indices = data.columns.filter((column) => column.kind === "index");
    // shown: the row reaches the level by what decides about it; deciding: the larger p where the classes are unequal.
    this.contrasts = records(data.tables.contrasts).map((row, i) => ({ ...row, shown: data.decisions[i].shown, deciding: data.decisions[i].p }));
    this.profile = records(data.tables.profile);
    this.covariates = records(data.tables.covariates);
    this.hours = this.withRole(records(data.tables.hours));
    this.windowMeans = this.withRole(records(data.tables.windows));
    this.heard = new Map(records(data.tables.listening).filter((row) => row.heard === "fullness")
      .map((row) => [row.index, row]));
    this.sunriseSteps = this.withRole(records(data.tables.sunrise));
    this.keptFlags = records(data.tables.kept_flags);
  }

  withRole(rows) {
    for (const row of rows) row.role = this.siteByName.get(row.site)?.role ?? "other";
    return rows;
  }

  /** "a", "b" or "other" -> the class's name as the survey writes it. */
  className(role) {
    return role === "a" ? this.survey.a : role === "b" ? this.survey.b : "other stands";
  }

  /** "acoustic complexity index" for "aci"; the name itself when there is no such column. */
  title(index) {
    return this.columnByName.get(index)?.title ?? index;
  }

  /** "dB"; "no unit" for a pure number. */
  unit(index) {
    const unit = this.columnByName.get(index)?.unit ?? "1";
    return unit === "1" ? "no unit" : unit;
  }

  /** " dB" behind a number; nothing behind a pure one. */
  unitBehind(index) {
    const unit = this.columnByName.get(index)?.unit ?? "1";
    return unit === "1" ? "" : ` ${unit}`;
  }

  /** "elevation" for "elevation_m"; the name itself where the program has no words for it. */
  numberName(name) {
    return this.names[name]?.[0] ?? name;
  }

  /** "elevation (m)" */
  numberAxis(name) {
    const unit = this.names[name]?.[1];
    return this.numberName(name) + (unit ? ` (${unit})` : "");
  }

  contrast(index, window) {
    return this.contrasts.find((row) => row.index === index && row.window === window);
  }

  /** "n = 8 rich and 8 poor sites" of those with a value. */
  n(rows) {
    const sites = (role) => new Set(rows.filter((row) => row.role === role).map((row) => row.site)).size;
    const others = sites("other");
    return `n = ${sites("a")} ${this.survey.a} and ${sites("b")} ${this.survey.b} sites` +
      (others ? `, ${others} of other stands` : "");
  }

  /**
   * Means over the sites of a class per x: [{role, x, mean, low, high, n}], one standard error wide. Left out where
   * fewer than half of the class's sites have a value: such a mean would jump with the sites it is made of.
   */
  classMeans(rows, x, y) {
    const groups = new Map();
    for (const row of rows) {
      if (row.role === "other" || row[y] === null) continue;
      const key = `${row.role} ${row[x]}`;
      if (!groups.has(key)) groups.set(key, { role: row.role, x: row[x], values: [] });
      groups.get(key).values.push(row[y]);
    }
    const most = (role) => new Set(rows.filter((row) => row.role === role && row[y] !== null).map((row) => row.site)).size;
    const half = { a: most("a") / 2, b: most("b") / 2 };
    return [...groups.values()]
      .filter(({ role, values }) => values.length >= half[role])
      .map(({ role, x: at, values }) => {
        const m = mean(values), error = standardError(values);
        return { role, x: at, mean: m, low: error === null ? null : m - error, high: error === null ? null : m + error,
          n: values.length };
      })
      .sort((p, q) => p.x - q.x);
  }
}
