"""From cost to price: margin, the four marks, the two-tone extra, the price list."""
