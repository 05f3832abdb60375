"""Labels: a face (what stands where) on a sheet (which labels are on the paper).

A print goes through the files in this order:

1. `designs` reads faces and sheets from TOML, strictly.
2. `legal` says what the law asks of this wording on this face: least type height, where the net
   weight stands, how much clear space it has.
3. `pieces` makes of each block what it says, in which face of type and from which size down; `look`
   is the variety's ink and what the ledger lets be drawn of the lot.
4. `layout` measures every text, code and sign and gives it its place: by its edges, in a `stack`,
   or on a circle (`arc`); `items` are the placed things and `signs` the signs of the law.
5. `places` refuses what overlaps, leaves the label or stands where the law does not let it;
   `mends` says what would make a text fit.
6. `draw` puts a finished layout on the canvas. It decides nothing.
7. `run` prints any number of lots on sheets or on a roll.

`show` draws one label with rulers, or every face on one page. `proofs` writes a layout as text, for
a diff in review, and a picture of it. `calibration` prints the page that shows how far a printer is
off.

A face is panels and blocks in millimetres. A box is tied down by two of left, right, width and two
of top, bottom, height; one that is tied to both edges stretches with its label. What a block may
draw stands at `designs.Block`; `holds` names the kinds of statement that a text is made of.
`min_height_mm` is the height of the lower-case o: the law may raise it, nothing lowers it. Text
shrinks from `size_pt` to that least height; what does not fit then is refused, with what would mend
it, and is dropped only from a block that is `optional`. A sheet is paper, label and pitch; `dpi`
snaps the modules of codes to the dots of a roll printer.

A run holds at most MAX_LABELS labels. Copies of one label are stored once, and labels of several
lots share what they have in common.
"""
