"""The steps of the trade, one module per family: amounts in, minutes, machine time, materials, energy out."""
