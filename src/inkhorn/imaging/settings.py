"""The thresholds of the photograph reader, gathered from the handbook."""

from __future__ import annotations

import attrs

from inkhorn.handbook.load import value


@attrs.frozen(kw_only=True)
class Settings:
    """Every number of the reader; each is the handbook row ``imaging.read.<name>``."""

    coarse_side: float
    sketch_megapixels: float
    work_width: float
    work_least: float
    patch_least: float
    patch_side: float
    patch_sharp: float
    patch_alone: float
    patch_over: float
    patch_even: float
    uneven_noise: float
    uneven_clear: float
    written_deep: float
    written_share: float
    sheet_fill: float
    sheet_edge: float
    sheet_written: float
    sheet_part: float
    sheet_nook: float
    other_hue: float
    other_said: float
    stroke_least: float
    stroke_sharp: float
    stroke_enough: float
    stroke_scatter: float
    blur_sway: float
    blur_said: float
    blur_share: float
    station_share: float
    profile_share: float
    edge_inner70: float
    edge_line: float
    edge_fill: float
    soil_width: float
    soil_depth: float
    tile_share: float
    bare_band: float
    support_reach: float
    closing_reach: float
    support_least: float
    noise_steps: float
    low_share: float
    high_share: float
    least_contrast: float
    least_light: float
    burnt_share: float
    speck_area: float
    surround_share: float
    surround_depth: float
    ghost_softness: float
    ghost_depth: float
    ghost_pale: float
    ghost_matters: float
    ruling_span: float
    ruling_cover: float
    ruling_contrast: float
    ruling_width: float
    ruling_beside: float
    ruling_pair_span: float
    ruling_fan: float
    ruling_own: float
    gap_reach: float
    gap_lead: float
    gap_width: float
    gap_fresh: float
    gap_evidence: float
    gap_mean: float
    gap_ratio: float
    gap_pairs_prior: float
    gap_doubt: float
    ends_natural: float
    ends_doubt: float
    pairs_natural: float
    pairs_found: float
    end_pale: float
    end_own: float
    end_soft: float
    end_bend_soft: float
    end_hollow: float
    end_pointed: float
    torn_seen: float
    torn_mistaken: float
    gap_turn: float
    gap_uneven: float
    gap_alike: float
    gap_askew: float
    gap_off: float
    gap_side: float
    gap_least: float
    core_least: float
    core_faith: float
    core_wide: float
    core_faith_narrow: float
    core_few: float
    bare_share: float
    bare_said: float
    thin_share: float
    pool_share: float
    pool_ratio: float
    pool_least: float
    intact_floor: float
    resamples: float
    letter_reach: float
    letters_most: float
    surface_floor: float
    support_doubt: float
    blur_doubt: float
    wear_doubt: float
    edge_level: float
    edge_outer: float
    edge_inner: float
    stroke_length: float
    strokes_most: float
    narrow_stroke: float


def from_handbook() -> Settings:
    """Return the settings as the handbook has them."""
    return Settings(**{field.name: value(f"imaging.read.{field.name}") for field in attrs.fields(Settings)})
