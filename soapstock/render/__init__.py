"""All that comes out as PDF, and the only room that knows ReportLab and qrcode.

- `pdf/`: what every PDF is made of: type, measured text, boxes in millimetres, codes, pictures.
- `label/`: faces on sheets. Each position is measured and each rule asked before a label is drawn.
- `paper/`: sheets, cards and charts for the workshop, and plain papers of any length.

`label/` and `paper/` stand on `pdf/` and know nothing of each other. The room is handed finished
words and figures: it reads no ledger, and it decides no wording.
"""
