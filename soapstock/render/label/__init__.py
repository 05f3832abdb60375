"""Labels: a face (what stands where) on a sheet (which labels are on the paper).

A print goes through the files in this order:

1. `designs` reads faces and sheets from TOML, strictly.
2. `legal` says what the law asks of this wording on this face: least type height, where the net
   weight stands, how much clear space it has.
3. `layout` measures every text, code and sign and gives it its place; `items` are the placed things
   and `signs` the signs of the law with their leaflet.
4. `places` refuses what overlaps, leaves the label or stands where the law does not let it;
   `mends` says what would make a text fit.
5. `draw` puts a finished layout on the canvas. It decides nothing.
6. `run` prints any number of lots on sheets or on a roll.

`proofs` writes a layout as text, for a diff in review. `calibration` prints the page that shows how
far a printer is off.
"""
