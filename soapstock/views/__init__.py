"""What the shop is on a day: reads facts, computes, writes nothing, prints nothing."""
