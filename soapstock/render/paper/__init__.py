"""Papers for the workshop.

- `batch_sheet`: what to weigh and do for one pour, with the cautions for lye.
- `rack_card`: what stands on this rack, when it should be ready, and boxes for its weigh-ins.
- `cure_chart`: the drying of one lot, or of every lot on the racks, as a chart.
- `plain`: headed facts and tables on as many pages as needed: pick lists, records.

Each takes a record of finished words and figures and a path, and writes a PDF whole or not at all.
They are read at arm's length by wet hands: type is shrunk no further than `pdf.page.LEAST_PT`
unless a place says otherwise, and a text that does not fit its place is refused and never cut off.
A sheet that shows a lye weight prints the cautions for lye, which its record brings along.
"""
