"""The same stretches over the same file, by DuckDB or Polars: `python logger_others.py FOLDER duckdb|polars`.

Started by `logger.rs`, which leaves `log.csv` and `stretches.csv` in the folder. Everything that can make it quick is done: all times of the record
are whole seconds, so the stretches are cut into pieces that end at whole seconds, each row finds its piece by one look-up in a table, one grouping takes
all sums, and the few pieces of a stretch are put together at the end. Longest gaps and longest excursions are not asked for.
"""

import csv
import resource
import sys
import time

folder, which = sys.argv[1:3]
with open(f"{folder}/stretches.csv") as file:
    stretches = list(csv.DictReader(file))
for s in stretches:
    s["start"], s["end"] = int(float(s["start"])), int(float(s["end"]))
    s["window"] = tuple(float(s[side]) if s[side] else None for side in ("low", "high"))
path = f"{folder}/log.csv"
names = [f"c{c}" for c in range(8)]

began = time.perf_counter()
before = sum(resource.getrusage(resource.RUSAGE_SELF)[:2])
# A row at a whole second k has the key 2k, one behind it 2k + 1; both ends of a stretch belong to it.
cuts = sorted({2 * s["start"] for s in stretches} | {2 * s["end"] + 1 for s in stretches})
pieces = list(zip(cuts, cuts[1:]))
of_piece = [[] for _ in pieces]
first_at = {cut: at for at, cut in enumerate(cuts)}
for s in stretches:
    s["pieces"] = range(first_at[2 * s["start"]], first_at[2 * s["end"] + 1])
    for at in s["pieces"]:
        of_piece[at].append(s)
windows = [
    {name: sorted({s["window"] for s in at if s["column"] == name and s["window"] != (None, None)}, key=str) for name in names}
    for at in of_piece
]
most = {name: max(len(w[name]) for w in windows) for name in names}
sloped = {s["column"] for s in stretches if s["purpose"] == "drift"}
infinite = float("inf")
table = {"key": [], "piece": [], "origin": []}
for name in names:
    for k in range(most[name]):
        table[f"{name}_l{k}"], table[f"{name}_h{k}"] = [], []
for at, (start, end) in enumerate(pieces):
    if not of_piece[at]:
        continue
    count = end - start
    table["key"] += range(start, end)
    table["piece"] += [at] * count
    table["origin"] += [start / 2] * count
    for name in names:
        for k in range(most[name]):
            low, high = windows[at][name][k] if k < len(windows[at][name]) else (None, None)
            table[f"{name}_l{k}"] += [-infinite if low is None else low] * count
            table[f"{name}_h{k}"] += [infinite if high is None else high] * count

import polars as pl  # both take the table from it

keys = pl.DataFrame(table, schema_overrides={"key": pl.Int64, "piece": pl.Int64})
if which == "duckdb":
    import duckdb

    version = duckdb.__version__
    con = duckdb.connect()
    keys.write_parquet(f"{folder}/keys.parquet")
    con.execute(f"create table keys as select * from '{folder}/keys.parquet'")
    wanted = ["piece"]
    for n in names:
        wanted += [f"count({n}) as {n}_n", f"min({n}) as {n}_min", f"max({n}) as {n}_max"]
        wanted += [f"count(*) filter (where {n} < {n}_l{k} or {n} > {n}_h{k}) as {n}_o{k}" for k in range(most[n])]
        if n in sloped:
            wanted += [f"sum({n}) as {n}_y", f"sum({n} * (t - origin)) as {n}_xy", f"sum(t - origin) as {n}_x"]
            wanted += [f"sum((t - origin) * (t - origin)) as {n}_xx", f"any_value(origin) as {n}_at"]
    columns = "{" + ", ".join(f"'{c}': 'DOUBLE'" for c in ["t", *names]) + "}"
    key = "cast(2 * floor(t) as bigint) + cast(t > floor(t) as bigint)"
    rows = con.execute(
        f"select {', '.join(wanted)} from (select *, {key} as key from read_csv('{path}', header = true, columns = {columns})) "
        "join keys using (key) group by piece"
    )
    heads = [d[0] for d in rows.description]
    found = [dict(zip(heads, row)) for row in rows.fetchall()]
else:
    version = pl.__version__
    t, c = pl.col("t"), pl.col
    wanted = []
    for n in names:
        wanted += [c(n).count().alias(f"{n}_n"), c(n).min().alias(f"{n}_min"), c(n).max().alias(f"{n}_max")]
        for k in range(most[n]):
            wanted.append(((c(n) < c(f"{n}_l{k}")) | (c(n) > c(f"{n}_h{k}"))).sum().alias(f"{n}_o{k}"))
        if n in sloped:
            x = t - c("origin")
            wanted += [c(n).sum().alias(f"{n}_y"), (c(n) * x).sum().alias(f"{n}_xy"), x.sum().alias(f"{n}_x")]
            wanted += [(x * x).sum().alias(f"{n}_xx"), c("origin").first().alias(f"{n}_at")]
    second = t.floor().cast(pl.Int64)
    found = (
        pl.scan_csv(path, schema={n: pl.Float64 for n in ["t", *names]})
        .with_columns((2 * second + (t > second)).alias("key"))
        .join(keys.lazy(), on="key", how="inner")
        .group_by("piece")
        .agg(wanted)
        .collect(engine="streaming")
        .to_dicts()
    )
by_piece = {row["piece"]: row for row in found}
results = []
for s in stretches:
    n, at = s["column"], s["start"]
    count = outside = 0
    low, high = infinite, -infinite
    x = y = xx = xy = 0.0
    for piece in s["pieces"]:
        row = by_piece.get(piece)
        if not row or not row[f"{n}_n"]:
            continue
        count += row[f"{n}_n"]
        low, high = min(low, row[f"{n}_min"]), max(high, row[f"{n}_max"])
        if s["window"] != (None, None):
            outside += row[f"{n}_o{windows[piece][n].index(s['window'])}"]
        if s["purpose"] == "drift":
            shift, k = row[f"{n}_at"] - at, row[f"{n}_n"]
            x += row[f"{n}_x"] + k * shift
            xx += row[f"{n}_xx"] + 2 * shift * row[f"{n}_x"] + k * shift * shift
            y += row[f"{n}_y"]
            xy += row[f"{n}_xy"] + shift * row[f"{n}_y"]
    slope = (count * xy - x * y) / (count * xx - x * x) if s["purpose"] == "drift" and count > 2 else ""
    results.append([count, outside, low if count else "", high if count else "", slope])
seconds = time.perf_counter() - began
with open(f"{folder}/{which}.csv", "w", newline="") as file:
    csv.writer(file).writerows(results)
usage = resource.getrusage(resource.RUSAGE_SELF)
print(f"{which} {version}|{seconds}|{usage.ru_utime + usage.ru_stime - before}|{usage.ru_maxrss / 1024}")
