// SPDX-License-Identifier: GPL-3.0-or-later
#include "health/internal/judge.hpp"

#include <fmt/format.h>

#include <algorithm>

namespace lull {
namespace {

int severity_of(double share, double doubtful, double unfit) {
    return share >= unfit ? 2 : share >= doubtful ? 1 : 0;
}

/// The list without stretches that are reported as the channel's death already.
StretchList alive(const StretchList& list, const Judged& judged,
                  const std::vector<Finding>& findings) {
    const auto dead = std::find_if(findings.begin(), findings.end(), [&](const Finding& f) {
        return f.channel == judged.channel && f.finding == "dead";
    });
    if (dead == findings.end()) return list;
    StretchList kept;
    for (const Stretch& stretch : list.listed)
        if (judged.seconds(stretch.first) < dead->from_s - 1e-9) kept.add(stretch);
    return kept;
}

struct Dropout {
    const char* name;
    const StretchList* list;
    const char* effect;
    const char* remedy;
};

} // namespace

void judge_clipping(const Judged& judged, std::vector<Finding>& findings) {
    const ChannelHealth& health = judged.health;
    const auto measured = static_cast<double>(health.frames);
    const bool under = health.clip_level < 0.98;
    for (const Group& group : grouped(health.clipped, judged.rate_hz)) {
        Finding finding;
        finding.channel = judged.channel;
        finding.finding = under ? "clipping below full scale" : "clipping";
        finding.from_s = judged.seconds(group.first);
        finding.to_s = judged.seconds(group.end);
        finding.amount = static_cast<double>(group.frames);
        finding.unit = "samples";
        finding.effect =
            fmt::format("levels and ranking read too low in {} flattened peaks, and the "
                        "shape of loud knocks is lost",
                        group.stretches);
        finding.remedy = under
                             ? fmt::format("something before the recorder limits at {:.4f} of full "
                                           "scale: lower the sensor's or the amplifier's gain",
                                           health.clip_level)
                             : "lower the gain before the recorder";
        finding.severity =
            severity_of(static_cast<double>(health.clipped.frames) / measured, 1e-6, 0.01);
        finding.levels_mislead = finding.severity == 2;
        findings.push_back(std::move(finding));
    }
}

void judge_dropouts(const Judged& judged, std::vector<Finding>& findings) {
    const ChannelHealth& health = judged.health;
    const char* deaf =
        "nothing could be heard while it lasted, and its edges can pass for impulses";
    const Dropout kinds[] = {
        {"dropout, zeroed", &health.zeroed, deaf, "check the link or cable of this channel"},
        {"dropout, held value", &health.held, deaf, "check the link or cable of this channel"},
        {"dropout, repeated block", &health.repeated,
         "a sound in the block is heard twice: the second one is not an event",
         "check the radio link: move its antenna, or use a cable"},
        {"dropout, damaged file", &health.lost, deaf,
         "check the recorder's medium, and copy the file again"},
        {"samples not a number", &health.non_finite, "set to 0: nothing could be heard there",
         "export the recording again from the recorder's own format"},
    };
    // Time without a file says nothing about the sensor.
    const double span =
        static_cast<double>(health.frames + health.lost.frames + health.non_finite.frames);
    for (const Dropout& kind : kinds) {
        const StretchList list = alive(*kind.list, judged, findings);
        for (const Group& group : grouped(list, judged.rate_hz)) {
            Finding finding{judged.channel,
                            kind.name,
                            judged.seconds(group.first),
                            judged.seconds(group.end),
                            judged.seconds(group.frames),
                            "s",
                            fmt::format("{} ({} stretches, the longest {:.0f} ms)", kind.effect,
                                        group.stretches, 1000.0 * judged.seconds(group.longest)),
                            kind.remedy,
                            0};
            finding.severity = severity_of(static_cast<double>(list.frames) / span, 1e-4, 0.05);
            findings.push_back(std::move(finding));
        }
    }
}

} // namespace lull
