// SPDX-License-Identifier: GPL-3.0-or-later
#include "recording/channel.hpp"

#include <cmath>

namespace lull {
namespace {

struct Reference {
    double value; ///< in the unit of the sensitivity: m/s, m/s^2, Pa
    const char* unit;
};

/// ISO 1683:2015
Reference reference_of(SensitivityUnit unit) {
    switch (unit) {
    case SensitivityUnit::volt_per_velocity:
        return {1e-9, "dB re 1 nm/s"};
    case SensitivityUnit::volt_per_acceleration:
        return {1e-6, "dB re 1 µm/s²"};
    case SensitivityUnit::volt_per_pressure:
        return {20e-6, "dB re 20 µPa"};
    }
    return {1.0, ""};
}

} // namespace

const char* name_of(ChannelKind kind) {
    switch (kind) {
    case ChannelKind::seismic:
        return "seismic";
    case ChannelKind::air:
        return "air";
    case ChannelKind::unknown:
        return "unknown";
    }
    return "unknown";
}

LevelScale level_scale(const Channel& channel) {
    if (!channel.sensitivity || !channel.full_scale_v) return {0.0, "dB re full scale"};
    const Reference reference = reference_of(channel.sensitivity->unit);
    const double full_scale = *channel.full_scale_v / channel.sensitivity->value; // at 0 dB gain
    return {20.0 * std::log10(full_scale / reference.value) - channel.gain_db, reference.unit};
}

} // namespace lull
