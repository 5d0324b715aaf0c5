"""What all workbooks are made of: sheets written row by row, formulas that give our figures, texts that stay texts."""
