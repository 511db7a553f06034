"""Records to meaning. Pure, standard library only on the live path; the same for live and stored."""
