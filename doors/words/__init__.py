"""What the pages say: names, sentences, and the figures that fill them in."""
