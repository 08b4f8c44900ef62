"""Random inputs and the answers of independent implementations, for every function of the trade that physics.py and
make_statistics.py leave out.

    pip install chemicals fluids scipy statsmodels networkx uncertainties mpmath numpy
    python3 tests/published/reference/functions.py > tests/published/reference/functions.json

Where a library has the relation, the library answers ("against" names it); where none has it, a second formulation does,
written from the published formula or from the definition and not from our code. A row is [inputs, outputs], flat lists of
numbers in the units that the name of the group tells; -999 stands for "none".
"""

import json

from cases import groups, versions
import functions_oil, functions_rig, functions_counts, functions_decisions, functions_coverage  # each adds its groups, in this order

print('{\n"made with": ' + json.dumps(versions) + ',\n"groups": {')
print(",\n".join(f'{json.dumps(name)}: {{"against": {json.dumps(g["against"])}, "rows": [\n' +
                 ",\n".join(json.dumps(r, allow_nan=False) for r in g["rows"]) + "\n]}" for name, g in groups.items()))
print("}}")
