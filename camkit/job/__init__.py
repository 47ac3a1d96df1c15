"""The job file: what is cut, from which sheet, on which machine, with which cutters."""
