"""The statistical half of the job in scikit-learn: naive Bayes over the notes of the stops that geopandas located,
each judged by what was learnt without its fifth, and the probabilities written."""
import sys

import geopandas
import numpy
from sklearn.model_selection import cross_val_predict
from sklearn.naive_bayes import CategoricalNB
from sklearn.preprocessing import OrdinalEncoder

located_file, target = sys.argv[1:3]
stops = geopandas.read_file(located_file)
stops = stops[stops["unit"].notna()]
notes = stops[["landform", "colour_moist", "colour_dry", "texture", "effervescence", "fragment_kind"]].fillna("")
codes = OrdinalEncoder().fit_transform(notes)
model = CategoricalNB(min_categories=(codes.max(axis=0) + 1).astype(int))
probability = cross_val_predict(model, codes, stops["unit"], cv=5, method="predict_proba")
numpy.savetxt(target, probability, fmt="%.4f", delimiter=",")
