"""Papers: plain values in, the bytes of a PDF (or a text for a mail) out. No record is read here.

`cutting_sheet` and `layout_sheet` are drawn at scale; `price_breakdown` and `quote_paper` are
pages of text set from templates/documents/.
"""
