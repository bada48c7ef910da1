"""The spatial half of the job in geopandas: reproject the stops, find the polygon and the nearest contact of each, write them."""
import sys

import geopandas

folder, contacts_file, target = sys.argv[1:4]
units = geopandas.read_file(f"{folder}/map.gpkg")
contacts = geopandas.read_file(contacts_file, layer="contact_review")[["geometry"]]
stops = geopandas.read_file(f"{folder}/stops.gpkg").to_crs(units.crs)
located = stops.sjoin(units[["unit", "geometry"]], how="left", predicate="within").drop(columns="index_right")
located = located.sjoin_nearest(contacts, how="left", distance_col="contact_distance_m").drop(columns="index_right")
located.drop_duplicates("stop").to_file(target, driver="GPKG")
