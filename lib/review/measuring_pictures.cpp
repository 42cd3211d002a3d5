// SPDX-License-Identifier: GPL-3.0-or-later
#include "review/measuring_pictures.hpp"

#include "noise/scale_changes.hpp"
#include "report/pictures/channel_plot.hpp"
#include "report/pictures/noise_plot.hpp"

#include <cmath>
#include <limits>
#include <map>

namespace lull {
namespace {

struct MeanPowers {
    double floor = 0.0, median = 0.0, level = 0.0, rows = 0.0;
};

} // namespace

std::string noise_picture(const Analysis& found, const Recording& recording) {
    std::vector<NoiseCourse> courses;
    for (std::size_t c = 0; c < recording.channels.size(); ++c) {
        const int index = static_cast<int>(c);
        const ScaleChanges changes(recording, index, found.settings.from);
        std::map<double, MeanPowers> bands;
        for (const NoiseLevel& row : found.noise) {
            if (row.channel != index) continue;
            const double factor =
                changes.factor(static_cast<Frame>(std::llround(row.from_s * recording.rate_hz)));
            MeanPowers& mean = bands[row.band_hz];
            mean.floor += factor * row.floor;
            mean.median += factor * row.median;
            mean.level += factor * row.level;
            mean.rows += 1.0;
        }
        const LevelScale scale = level_scale(channel_at(recording.session, recording.channels[c],
                                                        recording.seconds(found.settings.from)));
        NoiseCourse course{recording.channels[c].name, scale.unit, {}};
        for (const auto& [hz, mean] : bands) {
            const auto db = [&scale, rows = mean.rows](double power) {
                const auto level = power_db(power / rows);
                return level ? *level + scale.offset_db : std::numeric_limits<double>::quiet_NaN();
            };
            course.bands.push_back({hz, db(mean.floor), db(mean.median), db(mean.level)});
        }
        courses.push_back(std::move(course));
    }
    return noise_plot_svg(courses);
}

std::string fitness_picture(const Analysis& found, const Recording& recording) {
    std::vector<ChannelFaults> channels;
    for (std::size_t c = 0; c < recording.channels.size(); ++c) {
        const int index = static_cast<int>(c);
        ChannelFaults channel{
            recording.channels[c].name, name_of(fitness_of(index, found.findings).fitness), {}};
        for (const Finding& finding : found.findings)
            if (finding.channel == index)
                channel.faults.push_back(
                    {finding.finding, finding.from_s, finding.to_s, finding.severity});
        channels.push_back(std::move(channel));
    }
    return channel_plot_svg(channels, recording.seconds(found.settings.from),
                            recording.seconds(found.settings.to));
}

} // namespace lull
