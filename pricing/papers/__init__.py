"""What is handed over: summary, price list, customer quote, spreadsheet."""
