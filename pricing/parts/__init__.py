"""What the customer brings: parts, the job, and the amounts that drive its cost."""
