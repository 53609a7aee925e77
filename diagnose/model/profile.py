"""What a device or site profile may say: every fact is optional, and reasoning copes without it."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

LOGIC = ("eod_no", "eod_nc", "dod_no", "dod_nc")
SENSE = ("open_is_active", "closed_is_active")
FITTED = ("fitted", "none")

# fact -> its unit, or the words it may take
PROFILE_FACTS: Mapping[str, str | tuple[str, ...]] = {
    "device.supply_kind": ("ac_dc", "dc", "ac"),
    "device.supply_min_v": "V",
    "device.supply_max_v": "V",
    "device.load_w": "W",
    "device.load_a": "A",
    "device.heater": FITTED,
    "device.response_ms": "ms",
    "device.release_ms": "ms",
    "device.start_s": "s",
    "device.activation_logic": LOGIC,
    "device.protective_logic": LOGIC,
    "device.test_input": FITTED,
    "device.planes": "count",
    "device.mount_low_m": "m",
    "device.mount_high_m": "m",
    "device.edge_terminator_ohm": "ohm",
    "device.temp_min_c": "degC",
    "device.temp_max_c": "degC",
    "device.look_azimuth_deg": "deg",
    "site.gate_type": ("barrier_arm", "sliding", "swing", "other"),
    "site.supply_v": "V",
    "site.cable_length_m": "m",
    "site.cable_area_mm2": "mm2",
    "site.activation_sense": SENSE,
    "site.protective_sense": SENSE,
    "site.protective_input": ("plain", "resistive", "monitored"),
    "site.test_output": FITTED,
    "site.test_pulse_ms": "ms",
    "site.latitude": "deg",
    "site.longitude": "deg",
    "site.mount_height_m": "m",
    "site.neighbour_scanner": ("yes", "no"),
}
# Numbers that profiles of the former version may hold. Nothing asks for them or reasons with them.
FORMER_FACTS = (
    "device.angular_step_deg",
    "device.range_m",
    "device.reflectance_min_percent",
    "device.ip",
    "site.gate_speed",
)


@dataclass(frozen=True, slots=True)
class Profile:
    """A device or site as facts. `lamps` says in plain words what each lamp of THIS device means."""

    id: str
    says: str
    kind: Literal["device", "site"]
    facts: Mapping[str, str | float]
    lamps: Mapping[str, str] = field(default_factory=dict)
    invented: bool = False
    sensor: str = ""  # the kind of sensor that a device is
