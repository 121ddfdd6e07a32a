"""Readings brought in from a table of old notes: any CSV or workbook. Who starts anew may skip it.

``table`` reads the rows, ``columns`` guesses which column is what by the words of ``headings``, ``cells`` says what a
cell means, ``readings`` puts them together for a preview; nothing is recorded here.
"""
