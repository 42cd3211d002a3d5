// SPDX-License-Identifier: GPL-3.0-or-later
//
// A sensor's channel: its description and the scale of its levels.
#pragma once

#include <array>
#include <optional>
#include <string>

namespace lull {

enum class ChannelKind {
    seismic, ///< vibration of the structure
    air,     ///< microphone
    unknown, ///< a bare file: nothing is assumed about wave speed or mains
};

[[nodiscard]] const char* name_of(ChannelKind kind); ///< "seismic", "air", "unknown"

using Position = std::array<double, 3>; ///< x east, y north, z up [m]

enum class SensitivityUnit { volt_per_velocity, volt_per_acceleration, volt_per_pressure };

struct Sensitivity {
    double value = 0.0; ///< > 0, in V/(m/s), V/(m/s^2) or V/Pa
    SensitivityUnit unit = SensitivityUnit::volt_per_velocity;
};

/// A channel as the session file describes it (data/schema/session.schema.json).
struct Channel {
    std::string name;
    ChannelKind kind = ChannelKind::unknown;
    std::optional<int> recording; ///< from 1; empty: all recordings that follow one another
    int track = 1;                ///< from 1, within its recording
    std::string axis, mount, recorded_through; ///< empty: not stated
    int polarity = 1;                          ///< 1 or -1
    std::optional<Position> position_m;
    double position_sigma_m = 1.0;
    std::optional<Sensitivity> sensitivity;
    std::optional<double>
        full_scale_v;            ///< volts at the recorder's input for full scale at 0 dB gain
    double gain_db = 0.0;        ///< of the amplifier before the converter
    double clock_offset_s = 0.0; ///< recorder time + offset = reference time
    double clock_drift_ppm = 0.0;
};

/// Converts powers of samples (full scale = 1) to levels.
struct LevelScale {
    double offset_db = 0.0; ///< added to 10*log10(power re full scale)
    std::string unit; ///< "dB re full scale", "dB re 1 nm/s", "dB re 1 µm/s²", "dB re 20 µPa"
};

/// The scale of a channel: calibrated when sensitivity and full scale are both known, else dB re
/// full scale. Physical value = sample * full_scale_v / 10^(gain_db/20) / sensitivity. References
/// of ISO 1683:2015.
[[nodiscard]] LevelScale level_scale(const Channel& channel);

} // namespace lull
