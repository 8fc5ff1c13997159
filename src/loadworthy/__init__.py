"""Loadworthy: replacement parts that are fit to carry the load."""
