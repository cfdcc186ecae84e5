"""What the terminal shows: the summary, and single cards with a drawing."""
