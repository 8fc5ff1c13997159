"""How results are written down: tables for people, and CSV, Markdown and JSON for what comes next.

Nothing is computed here. :mod:`~loadworthy.report.columns` says how a figure is headed,
:mod:`~loadworthy.report.tables` writes for a person, :mod:`~loadworthy.report.delimited`,
:mod:`~loadworthy.report.markdown` and :mod:`~loadworthy.report.json_text` write for programs, and
:mod:`~loadworthy.report.text` keeps what suppliers typed from steering a terminal.
"""
