"""Files of feet, pieces, hides and layouts: schema in, schema out."""
