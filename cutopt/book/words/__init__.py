"""What the book says, worked out of the plan: cards, steps, totals, cautions, two people at once."""
