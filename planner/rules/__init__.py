"""What must hold: hours rule books and the hours clock, working time, licences, plates, gates and deck loading."""
