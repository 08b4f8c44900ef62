"""The same windows over the same file, by DuckDB and Polars: `python logger_others.py FILE duckdb|polars`.

In a virtual environment outside the repository: `pip install duckdb polars`.
"""
import resource, sys, time

path, which = sys.argv[1:3]
low, high, names = 39.2, 40.8, [f"c{c}" for c in range(8)]
began = time.perf_counter()
if which == "duckdb":
    import duckdb
    wanted = ", ".join(f"count(*) filter (where not ({n} between {low} and {high}))" for n in names)
    outside = duckdb.sql(f"select {wanted} from read_csv('{path}')").fetchone()
    version = duckdb.__version__
else:
    import polars as pl
    lazy = pl.scan_csv(path).select((~pl.col(n).is_between(low, high)).sum().alias(n) for n in names)
    outside = lazy.collect(engine="streaming").row(0)
    version = pl.__version__
seconds = time.perf_counter() - began
peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
print(f"{which} {version}: {seconds:.2f} s, peak {peak:.0f} MB, outside {list(outside)}")
