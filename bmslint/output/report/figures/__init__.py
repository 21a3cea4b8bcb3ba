"""The drawings of the page, in SVG made by functions of our own.

Each drawing has a title and a description that says in words what it shows. Nothing is told by colour alone:
lines differ in their dashes and are named where they end, marks differ in shape, what is too cold is hatched.
"""
