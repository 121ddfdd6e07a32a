"""The course as a site: a folder of still files in which the first lessons run in the browser, with nothing installed.

``building`` lays it together, ``packages`` brings Python's packages, ``runtime`` Python itself.
"""
