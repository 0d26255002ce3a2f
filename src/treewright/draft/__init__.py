"""Writes a tree in the best order, from one without ways or from a table of causes."""
