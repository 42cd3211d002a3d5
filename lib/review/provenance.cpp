// SPDX-License-Identifier: GPL-3.0-or-later
#include "review/provenance.hpp"

#include "recording/units.hpp"

namespace lull {

std::vector<SettingShown> shown_settings(const Settings& settings, const Recording& recording) {
    std::string channels;
    for (const Channel& channel : recording.channels)
        channels += (channels.empty() ? "" : ";") + channel.name;
    std::vector<SettingShown> shown{
        {"from_s", recording.seconds(settings.from), 6},
        {"to_s", recording.seconds(settings.to), 6},
        {"channels", channels, -1},
        {"band_low_hz", settings.band.low_hz, 3},
        {"band_high_hz", settings.band.high_hz, 3},
        {"list_from_confidence", settings.list_from, 3},
        {"unit_core_s", unit_core_s, 3},
        {"seismic_speed_low_m_s", recording.session.propagation.seismic_m_s.first, 1},
        {"seismic_speed_high_m_s", recording.session.propagation.seismic_m_s.second, 1},
        {"propagation_stated",
         std::string(recording.session.propagation.stated ? "yes" : "no, assumed"), -1}};
    shown.push_back({"horn_patterns",
                     settings.horns.digest.empty() ? std::string("as built in")
                                                   : "SHA-256 " + settings.horns.digest,
                     -1});
    if (settings.false_per_hour) shown.push_back({"false_per_hour", *settings.false_per_hour, 3});
    if (settings.hail_channel)
        shown.push_back({"hail_channel",
                         recording.channels[static_cast<std::size_t>(*settings.hail_channel)].name,
                         -1});
    if (settings.every_s) shown.push_back({"noise_every_s", *settings.every_s, 3});
    return shown;
}

} // namespace lull
