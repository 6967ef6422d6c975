"""What the yard does with a ration: loads, pens, parlour, sheets, and the page to write on."""
