"""Words that every table and drawing uses: names of findings, columns of figures, how a draft was taken."""
