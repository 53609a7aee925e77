"""One HTML file that holds the knowledge and runs the same diagnosis in a browser, without a network."""
