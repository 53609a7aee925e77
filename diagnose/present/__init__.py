"""What a person is shown, chosen once: plain records with finished text, which every front end only lays out."""
