"""The kinds of day that have a name. Their figures have the sources listed in docs/simulator.md."""

from __future__ import annotations

from .scenario import Doppler, FieldLayout, Motion, Phone, Scenario, Wheels

_SMOOTHING = Phone(
    white_m=(0.01, 0.05), inner_white_m=(0.1, 0.5), lag_s=(1.0, 3.0), frozen_share=(0.47, 0.99)
)
_ALL = (
    Scenario(
        name="ordinary phone", about="errors as the middle half of real phones, one fix a second"
    ),
    Scenario(
        name="calm phone",
        about="quiet for minutes, then corrected by a metre or two",
        phone=Phone(
            slow_m=(0.25, 0.60),
            slow_time_s=(150, 250),
            fast_m=(0.2, 0.6),
            fast_time_s=(30, 80),
            rise_s=(1.0, 6.0),
            white_m=(0.01, 0.05),
            corrections_per_minute=(0.2, 0.5),
            late_share=(0.0, 0.01),
            frozen_share=(0.0, 0.2),
        ),
    ),
    Scenario(
        name="drifting phone",
        about="drifts smoothly by metres, holds its place while standing, some fixes late",
        phone=Phone(
            slow_m=(0.23, 0.79),
            slow_time_s=(140, 270),
            fast_m=(1.0, 1.75),
            fast_time_s=(17, 42),
            rise_s=(5.5, 8.0),
            corrections_per_minute=(0.1, 0.3),
            correction_m=(2.0, 4.0),
            late_share=(0.0, 0.05),
            frozen_share=(0.52, 0.78),
        ),
    ),
    Scenario(
        name="rough phone",
        about="errs anew within seconds, holds its place while standing",
        phone=Phone(
            slow_m=(0.48, 0.95),
            slow_time_s=(144, 186),
            fast_m=(0.76, 1.67),
            fast_time_s=(9.6, 18.7),
            rise_s=(0.97, 1.8),
            white_m=(0.04, 0.08),
            late_share=(0.0, 0.0),
            frozen_share=(0.74, 0.87),
        ),
    ),
    Scenario(
        name="bad phone",
        about="errors as the worst tenth of the recordings of real phones",
        phone=Phone(
            slow_m=(0.3, 1.7),
            slow_time_s=(107, 285),
            fast_m=(1.9, 3.8),
            fast_time_s=(15, 102),
            rise_s=(1.0, 11.0),
            corrections_per_minute=(0.1, 0.3),
            correction_m=(2.0, 4.0),
            late_share=(0.0, 0.05),
        ),
    ),
    Scenario(
        name="smoothing phone",
        about="positions low-pass filtered inside the phone, late by 1-3 s, as on no phone seen",
        phone=_SMOOTHING,
    ),
    Scenario(
        name="multipath",
        about="jumps of 3-10 m for 1-8 s",
        phone=Phone(jumps_per_minute=(0.3, 1.0)),
    ),
    Scenario(
        name="gaps", about="fixes missing for 4-40 s", phone=Phone(gaps_per_minute=(0.2, 0.6))
    ),
    Scenario(name="low rate", about="one fix in 5 s", phone=Phone(rate_hz=0.2)),
    Scenario(name="one in ten", about="one fix in 10 s", phone=Phone(rate_hz=0.1)),
    Scenario(name="high rate", about="five fixes a second", phone=Phone(rate_hz=5.0)),
    Scenario(
        name="centimetre receiver",
        about="ten fixes a second, good to a few centimetres",
        phone=Phone(
            rate_hz=10.0,
            slow_m=(0.005, 0.02),
            slow_time_s=(60, 600),
            fast_m=(0.003, 0.01),
            fast_time_s=(5, 20),
            rise_s=(0, 0),
            white_m=(0.003, 0.012),
            corrections_per_minute=(0.0, 0.0),
            late_share=(0.0, 0.0),
            frozen_share=(0.0, 0.0),
            coordinate_steps_deg=(1e-8, 1e-9),
            height_m=(0.01, 0.04),
        ),
    ),
    Scenario(
        name="mid-pass stop",
        about="a stop of 5-60 s on the way, in every pass",
        motion=Motion(mid_stop_share=1.0),
    ),
    Scenario(name="bowed bed", about="beds bowed by 0.5-2 m", motion=Motion(sagitta_m=(0.5, 2.0))),
    Scenario(
        name="steep slope", about="beds that rise by 8 %", motion=Motion(slope=(0.078, 0.082))
    ),
    Scenario(
        name="whole seconds",
        about="fixes taken within the second, stamps cut to whole seconds",
        phone=Phone(whole_seconds=True),
    ),
    Scenario(
        name="doppler", about="with speed from the Doppler shift", phone=Phone(doppler=Doppler())
    ),
    Scenario(
        name="slow doppler",
        about="with Doppler speed at 0.25-0.6 m/s",
        motion=Motion(speed_m_s=(0.25, 0.6), acceleration_m_s2=(0.1, 0.4)),
        field=FieldLayout(bed_length_m=(25, 90)),
        phone=Phone(doppler=Doppler()),
    ),
    Scenario(
        name="rolling lift",
        about="the seeder is dropped and lifted on the move",
        motion=Motion(rolling_share=1.0),
    ),
    Scenario(
        name="rolling, smoothing",
        about="dropped and lifted on the move, with a smoothing phone",
        motion=Motion(rolling_share=1.0),
        phone=_SMOOTHING,
    ),
    Scenario(
        name="smoothing, mid-pass stop",
        about="stops on the way, with a smoothing phone",
        motion=Motion(mid_stop_share=0.5),
        phone=_SMOOTHING,
    ),
    Scenario(name="short beds", about="25-40 m", field=FieldLayout(bed_length_m=(25, 40))),
    Scenario(name="long beds", about="250-400 m", field=FieldLayout(bed_length_m=(250, 400))),
    Scenario(
        name="two fields",
        about="two fields with their own headings in one day",
        field=FieldLayout(fields=2, passes=(4, 7)),
    ),
    Scenario(
        name="one pass",
        about="a recording of one pass and nothing else",
        field=FieldLayout(passes=(1, 1), drive_m=None),
    ),
    Scenario(
        name="one pass and drive",
        about="one pass with the drive there and back",
        field=FieldLayout(passes=(1, 1)),
    ),
    Scenario(
        name="turns timed", about="every turn has its instant", wheels=Wheels(counts="each turn")
    ),
    Scenario(
        name="four units, one lagging",
        about="four row units, the last slipping 3-8 % more",
        wheels=Wheels(units=4, lagging=(0.03, 0.08)),
    ),
)

SCENARIOS: dict[str, Scenario] = {scenario.name: scenario for scenario in _ALL}
"""Every named scenario. The first dozen or so differ from "ordinary phone" in one thing only."""
