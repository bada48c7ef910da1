"""What is known of the rock itself: strikes and dips measured, and boreholes."""
import numpy as np

from .rock import CELL, COVER, X, Y, grid_at
from .ground import HEIGHT, SOUTH, WEST, WIDTH


def attitudes(rng, rock, count, error_deg=4.0, wrong=0):
    """Rows of strike (right-hand rule) and dip where bedrock is not covered; the first `wrong` of them have their dip turned round."""
    north_slope, east_slope = np.gradient(rock.beds, CELL)
    free = np.argwhere(rock.truth != COVER)
    rows = []
    for k, (r, c) in enumerate(free[rng.choice(len(free), count, replace=False)]):
        normal = np.array([-east_slope[r, c], north_slope[r, c], 1.0])
        normal /= np.linalg.norm(normal)
        level = np.array([-normal[1], normal[0], 0.0])
        level = level / np.linalg.norm(level) if np.linalg.norm(level) > 1e-6 else np.array([1.0, 0.0, 0.0])
        turn = np.radians(rng.normal(0, error_deg, 2))
        normal = normal + turn[0] * level + turn[1] * np.cross(normal, level)
        normal /= np.linalg.norm(normal)
        azimuth = np.degrees(np.arctan2(normal[0], normal[1])) + (180 if k < wrong else 0)
        rows.append(dict(x=f"{X[r, c]:.1f}", y=f"{Y[r, c]:.1f}", strike_deg=f"{(azimuth - 90) % 360:.0f}",
                         dip_deg=f"{np.degrees(np.arccos(normal[2])):.0f}", error_deg=f"{error_deg:g}"))
    return rows


def boreholes(rng, ground, rock, codes, count):
    """Rows of holes down to rock, some of them through alluvium."""
    rows = []
    for k in range(count):
        x, y = WEST + rng.uniform(60, WIDTH - 60), SOUTH + rng.uniform(60, HEIGHT - 60)
        covered = int(grid_at(rock.truth, x, y)) == COVER
        weathered = rng.uniform(2.5, 7) if covered else float(np.exp(rng.normal(np.log(0.8), 0.4)))
        fresh = weathered + rng.uniform(0.2, 2)
        rows.append(dict(hole=f"B{k + 1}", x=f"{x + rng.normal(0, 3):.1f}", y=f"{y + rng.normal(0, 3):.1f}", position_sd_m="3",
                         collar_height_m=f"{float(ground.sample(ground.z, [x], [y])[0]):.1f}", weathered_rock_m=f"{weathered:.1f}",
                         rock_m=f"{fresh:.1f}", end_m=f"{fresh + rng.uniform(0.3, 1.5):.1f}",
                         unit_seen=codes[int(grid_at(rock.bedrock, x, y))]))
    return rows
