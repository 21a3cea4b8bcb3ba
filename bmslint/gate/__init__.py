"""What a run over many files needs: finding them, workers, a baseline, comparing."""
