"""From millimetres and minutes to money: bill of materials, labour, price."""
