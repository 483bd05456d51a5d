"""Scoring: severities, scores, and the assessment of a card."""
