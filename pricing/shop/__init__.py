"""What the owner has: people, machines, tariffs, rates, powders, price policy, and the folder they live in."""
