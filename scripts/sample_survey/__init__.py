"""Inventing a survey whose truth is known: ground, rock, draft map, soil and field book."""
