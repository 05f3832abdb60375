"""Paper: label faces on sheets, the batch sheet, the rack card. The only room that makes PDF."""
