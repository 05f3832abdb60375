"""Papers for the workshop.

- `batch_sheet`: what to weigh and do for one pour, with the cautions for lye.
- `rack_card`: what stands on this rack, when it should be ready, and boxes for its weigh-ins.
- `cure_chart`: the drying of one lot, or of every lot on the racks, as a chart.
- `plain`: headed facts and tables on as many pages as needed: pick lists, records.
"""
