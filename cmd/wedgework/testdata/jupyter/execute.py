"""Executes a notebook with nbclient as other tools do, and prints what each cell has shown. Usage: execute.py NOTEBOOK"""
import sys

import nbclient
import nbformat

nb = nbformat.read(sys.argv[1], 4)
nbclient.NotebookClient(nb, timeout=120, resources={"metadata": {"path": sys.argv[2]}}).execute()
nbformat.validate(nb)
for cell in nb.cells:
    if cell.cell_type == "code":
        print(cell.execution_count, *[o.output_type for o in cell.outputs])
