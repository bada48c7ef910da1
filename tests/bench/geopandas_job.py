"""The spatial half of the job in geopandas: reproject the stops, find the polygon and the nearest contact of each,
write them. geopandas' own sjoin_nearest wants a newer Shapely than Debian 12 has; Shapely's tree is asked stop by
stop."""
import sys

import geopandas
from shapely.strtree import STRtree

folder, contacts_file, target = sys.argv[1:4]
units = geopandas.read_file(f"{folder}/map.gpkg")
contacts = STRtree(list(geopandas.read_file(contacts_file, layer="contact_review").geometry))
stops = geopandas.read_file(f"{folder}/stops.gpkg").to_crs(units.crs)
located = stops.sjoin(units[["unit", "geometry"]], how="left",
    predicate="within").drop(columns="index_right").drop_duplicates("stop")
located["contact_distance_m"] = [contacts.nearest(place).distance(place) for place in located.geometry]
located.to_file(target, driver="GPKG")
