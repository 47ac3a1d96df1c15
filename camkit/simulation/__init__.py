"""The judge: believes only the program's text and the parts that were asked for."""
