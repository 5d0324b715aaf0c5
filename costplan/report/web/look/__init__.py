"""How the pages look: the template, the style sheet and the few lines of script that they carry."""
