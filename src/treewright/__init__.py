"""Treewright: diagnostic trees for machines, written as text, proven, printed and walked."""
