"""Holds data packages against independent readers: the reference validator of the standard, Apache Arrow, a reader of UCUM.

    python3 tests/package/validate.py FOLDER…

For each folder: `frictionless` validates `datapackage.json` (hashes, types, constraints, primary and foreign keys of every
table); every Parquet file, opened by Arrow, holds the same cells as its CSV; every unit's UCUM code, read by `ucumvert`, leads
to SI by the factor that the package gives. Ends with 1 and a list where anything departs.
"""

import csv
import json
import pathlib
import sys
import xml.etree.ElementTree as xml

import pyarrow.parquet as parquet
import ucumvert
from frictionless import validate

wrong = []


def complain(folder, what):
    wrong.append(f"{folder.name}: {what}")


def standard(folder):
    report = validate(str(folder / "datapackage.json"))
    if not report.valid:
        for row in report.flatten(["name", "rowNumber", "fieldName", "type", "note"])[:20]:
            complain(folder, f"frictionless: {row}")
        for error in report.errors[:5]:
            complain(folder, f"frictionless: {error.message}")
    return len(report.tasks)


def same(cell, value, sort):
    if cell == "":
        return value is None
    if sort == "number":
        return float(cell) == value
    if sort == "integer":
        return int(cell) == value
    if sort == "boolean":
        return (cell == "true") == value
    if sort in ("date", "datetime"):
        return cell == value.isoformat()
    return cell == value


def arrow(folder, tables):
    cells = 0
    for table in tables:
        path = folder / "parquet" / f"{table['name']}.parquet"
        if not path.exists():
            continue
        read = parquet.read_table(path)
        if json.loads(read.schema.metadata[b"table-schema"]) != table["schema"]:
            complain(folder, f"{path.name}: another schema than in datapackage.json")
        with open(folder / table["path"], newline="", encoding="utf-8") as file:
            rows = list(csv.DictReader(file))
        if read.num_rows != len(rows):
            complain(folder, f"{path.name}: {read.num_rows} rows, {len(rows)} in the CSV")
        for field in table["schema"]["fields"]:
            name, sort = field["name"], field["type"]
            for row, value in zip(rows, read.column(name).to_pylist()):
                cells += 1
                if not same(row[name], value, sort):
                    complain(folder, f"{path.name}, {name}: {value!r}, {row[name]!r} in the CSV")
    return cells


# Two units that the library takes from another table than UCUM's own: there, inches of a column of which a metre is given.
ESSENCE = {"[in_i'H2O]": 9806.65 * 0.0254, "[in_i'Hg]": 133322.0 * 0.0254}


def metre_of_column():
    """The two numbers above as the UCUM file that ships with the library has them."""
    root = xml.parse(next(pathlib.Path(ucumvert.__file__).parent.rglob("ucum-essence.xml"))).getroot()
    found = {}
    for unit in root.iter():
        if unit.tag.endswith("}unit") and unit.get("Code") in ("m[H2O]", "m[Hg]"):
            value = next(child for child in unit if child.tag.endswith("}value"))
            found[unit.get("Code")] = float(value.get("value")) * 1000 * 0.0254  # given in kPa
    return {"[in_i'H2O]": found["m[H2O]"], "[in_i'Hg]": found["m[Hg]"]}


def units(folder, registry):
    with open(folder / "data" / "units.csv", newline="", encoding="utf-8") as file:
        rows = list(csv.DictReader(file))
    for row in rows:
        code, factor, offset = row["unit"], float(row["factor"]), float(row["offset"])
        if code.startswith("{") and code.endswith("}") and code.count("{") == 1:
            # An annotation by itself is the unit one, in UCUM's own words; the library does not read it.
            expected, zero = 1.0, 0.0
        elif code in ESSENCE:
            expected, zero = ESSENCE[code], 0.0
        else:
            quantity = registry.from_ucum(code)
            if code in ("Cel", "[degF]"):
                at = lambda number: registry.Quantity(number, quantity.units).to("kelvin").magnitude
                expected = at(1.0) - at(0.0)
                zero = at(0.0) / expected
            else:
                expected, zero = quantity.to_base_units().magnitude, 0.0
        # Mercury is 2.7e-6 lighter in UCUM than by convention.
        tolerance = 5e-6 if "Hg" in code else 1e-9
        if abs(factor / expected - 1) > tolerance or abs(offset - zero) > 1e-6:
            complain(folder, f"unit {code}: factor {factor}, offset {offset}; by UCUM {expected}, {zero}")
        # What the code leads to is what the package says.
        if not code.startswith("{") and code not in ("Cel", "[degF]") and code not in ESSENCE:
            si = registry.from_ucum(row["si_unit"]) if not row["si_unit"].startswith("{") else registry.Quantity(1.0)
            if si.to_base_units().units.dimensionality != registry.from_ucum(code).to_base_units().units.dimensionality:
                complain(folder, f"unit {code}: not of the dimension of {row['si_unit']}")
    return len(rows)


def field_units(folder, tables, registry):
    codes = {field["unit"] for table in tables for field in table["schema"]["fields"] if "unit" in field}
    for code in codes:
        try:
            if not code.startswith("{") or "/" in code:
                registry.from_ucum(code)
        except Exception as error:  # any refusal of the reader is one
            complain(folder, f"unit {code} of a column: {error!r}")
    return len(codes)


def main():
    folders = [pathlib.Path(name) for name in sys.argv[1:]]
    if not folders:
        sys.exit("which packages?")
    registry = ucumvert.PintUcumRegistry()
    for code, value in metre_of_column().items():
        if abs(value / ESSENCE[code] - 1) > 1e-9:
            wrong.append(f"{code} is {value} by UCUM")
    for folder in folders:
        tables = [r for r in json.loads((folder / "datapackage.json").read_text("utf-8"))["resources"] if r["type"] == "table"]
        resources = standard(folder)
        said = f"{folder.name}: {resources} resources valid by frictionless"
        if (folder / "parquet").exists():
            said += f", {arrow(folder, tables)} cells alike in Parquet and CSV"
        said += f", {units(folder, registry)} units and {field_units(folder, tables, registry)} units of columns read by UCUM"
        print(said)
    if wrong:
        print("\n".join(wrong))
        sys.exit(1)


main()
