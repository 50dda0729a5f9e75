"""Executes notebooks with nbclient, and prints for each code cell what it has shown, as JSON, one line a notebook.
Usage: outputs.py FOLDER NOTEBOOK..."""
import json
import sys

import nbclient
import nbformat

for path in sys.argv[2:]:
    nb = nbformat.read(path, 4)
    client = nbclient.NotebookClient(nb, timeout=120, kernel_name="wedgework",
                                     resources={"metadata": {"path": sys.argv[1]}})
    client.execute()
    nbformat.validate(nb)
    cells = []
    for cell in nb.cells:
        if cell.cell_type == "code":
            cells.append([{"type": o.output_type, "name": o.get("name", ""), "text": o.get("text", ""),
                           "data": o.get("data", {})} for o in cell.outputs])
    print(json.dumps({"notebook": path, "cells": cells}))
