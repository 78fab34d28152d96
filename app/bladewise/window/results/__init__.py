"""As printed, as cut: what comes off the printer, what the customer holds, and what happens when the cut is off."""
