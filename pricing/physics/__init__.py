"""What heat, powder, air and shape do: plain numpy, floats or arrays, the unit in each name."""
