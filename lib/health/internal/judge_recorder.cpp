// SPDX-License-Identifier: GPL-3.0-or-later
//
// Faults of the recorder or its link: automatic gain, a lossy codec or a narrow link, time lost or
// repeated.
#include "health/internal/judge.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <cstdlib>

namespace lull {
namespace {

constexpr std::size_t least_dips = 5;
constexpr double dip_db = 4.0, least_dip_db = 2.0; // of the median, of the lowest quarter
constexpr std::int64_t least_looks = 5;
constexpr double least_holes = 0.0025; // of the bands; noise causes almost none
constexpr std::int64_t fewest_holes = 8;
constexpr double least_often = 0.2; // of the spectra: a codec works all the time, ringing does not
constexpr double shelf_db = 18.0;   // within a quarter of an octave
// the slope just below is smaller by this factor, unlike a filter's skirt
constexpr double flat_share = 6.0;
constexpr double stays_db = 12.0;  // everything above the edge stays this far below
constexpr std::size_t lowest = 12; // band; below it a third of an octave has too few bands
// band; above 0.44 of the rate the recorder's own filter decides
constexpr std::size_t highest = 112;
constexpr double low_edge_hz = 2000.0; // a link that ends below this removes part of a knock
constexpr double alone_s = 0.1;        // smallest time between jumps
constexpr std::size_t least_channels = 2;

double mean(std::span<const double> db, std::size_t begin, std::size_t end) {
    double sum = 0.0;
    for (std::size_t i = begin; i < end; ++i)
        sum += db[i];
    return sum / static_cast<double>(end - begin);
}

/// The band at whose lower edge the spectrum falls steeply, and by how much; band 0: none.
struct Shelf {
    std::size_t band = 0;
    double drop_db = 0.0;
};

Shelf shelf_of(std::span<const double> db) {
    Shelf best;
    for (std::size_t j = lowest; j < highest; ++j) {
        const std::size_t width = std::max<std::size_t>(3, j / 8),
                          gap = std::max<std::size_t>(1, j / 16);
        const std::size_t top = std::min(db.size() - 4, j + gap + width);
        if (j + gap + 2 >= top) break;
        const double under = mean(db, j - width, j), over = mean(db, j + gap, top);
        const double slope = mean(db, j - width, j - width / 2) - mean(db, j - width / 2, j);
        const double drop = under - over;
        if (drop < std::max(shelf_db, best.drop_db) || flat_share * std::fabs(slope) > drop)
            continue;
        bool stays = true;
        for (std::size_t i = j + gap; i + 3 <= db.size() - 4; ++i)
            stays = stays && mean(db, i, i + 3) < under - stays_db;
        if (stays) best = {j, drop};
    }
    return best;
}

/// Whether a jump at that frame is the edge of a dropout that is reported already.
bool at_dropout(const ChannelHealth& health, Frame frame) {
    for (const StretchList* list : {&health.zeroed, &health.held, &health.repeated, &health.missing,
                                    &health.lost, &health.non_finite, &health.clipped})
        for (const Stretch& s : list->listed)
            if (frame >= s.first - 2 && frame <= s.first + s.count + 2) return true;
    return false;
}

/// Whether the channel has no other jump nearby. A tone with edges has several.
bool lone(const Judged& judged, const Stretch& jump) {
    const auto apart = static_cast<Frame>(alone_s * judged.rate_hz);
    return std::ranges::none_of(judged.health.jumps.listed, [&](const Stretch& other) {
        return other.first != jump.first && std::abs(other.first - jump.first) < apart;
    });
}

std::size_t channels_that_jump(std::span<const ChannelHealth> all, Frame frame) {
    return static_cast<std::size_t>(std::ranges::count_if(all, [frame](const ChannelHealth& h) {
        return std::ranges::any_of(h.jumps.listed,
                                   [frame](const Stretch& s) {
                                       return s.first <= frame && frame < s.first + s.count;
                                   }) &&
               !at_dropout(h, frame);
    }));
}

} // namespace

void judge_automatic_gain(const Judged& judged, std::vector<Finding>& findings) {
    std::vector<double> dips;
    for (const GainDip& dip : judged.health.dips)
        dips.push_back(static_cast<double>(dip.db));
    if (dips.size() < least_dips) return;
    const double typical = quantile_or_silent(dips, 0.5);
    if (typical < dip_db || quantile_or_silent(dips, 0.25) < least_dip_db) return;
    Finding finding = judged.finding("automatic gain");
    finding.from_s = judged.seconds(judged.health.dips.front().frame);
    finding.to_s = judged.seconds(judged.health.dips.back().frame);
    finding.amount = typical;
    finding.unit = "dB";
    finding.effect = fmt::format(
        "its background fell after {} loud sounds: what follows a call or a knock is recorded "
        "weaker than it was, and levels cannot be compared",
        dips.size());
    finding.remedy = "switch the recorder's automatic gain off and set its gain by hand";
    finding.levels_mislead = true;
    findings.push_back(std::move(finding));
}

void judge_spectrum(const Judged& judged, std::vector<Finding>& findings) {
    const SpectrumLooks& seen = judged.health.spectrum;
    if (seen.looks < least_looks) return;
    const double holes = static_cast<double>(seen.holes) / static_cast<double>(seen.looked);
    const double often = static_cast<double>(seen.with_holes) / static_cast<double>(seen.looks);
    if (seen.holes >= fewest_holes && holes >= least_holes && often >= least_often) {
        Finding finding = judged.finding("lossy codec");
        finding.amount = 100.0 * holes;
        finding.unit = "% of the spectrum empty";
        finding.effect =
            "weak sounds beside stronger ones were removed: a sound may be missing from the file";
        finding.remedy = "set the recorder to an uncompressed or lossless format";
        findings.push_back(std::move(finding));
    }
    std::vector<double> db = seen.level_db;
    for (double& level : db)
        level /= static_cast<double>(seen.looks);
    const Shelf shelf = shelf_of(db);
    if (shelf.band == 0) return;
    const double edge_hz = static_cast<double>(shelf.band) /
                           static_cast<double>(SpectrumLooks::bands) * 0.5 * judged.rate_hz;
    Finding finding = judged.finding("band cut off");
    finding.amount = edge_hz;
    finding.unit = "Hz";
    finding.effect = fmt::format("nothing above was recorded ({:.0f} dB less): a lossy codec, or a "
                                 "link of a lower rate",
                                 shelf.drop_db);
    finding.remedy = "use a cable or a link of the full rate, and an uncompressed format";
    finding.severity = edge_hz < low_edge_hz ? 1 : 0;
    findings.push_back(std::move(finding));
}

void judge_jumps(const Judged& judged, std::vector<Finding>& findings) {
    StretchList shared;
    std::size_t most = 0;
    for (const Stretch& jump : judged.health.jumps.listed) {
        const auto knob = static_cast<Frame>(judged.rate_hz);
        if (at_dropout(judged.health, jump.first) || !lone(judged, jump) ||
            judged.facts.changes.within(jump.first - knob, jump.first + knob))
            continue;
        const std::size_t channels = channels_that_jump(judged.all, jump.first);
        if (channels < least_channels) continue;
        shared.add(jump);
        most = std::max(most, channels);
    }
    for (const Group& group : grouped(shared, judged.rate_hz)) {
        Finding finding = judged.finding("time jump");
        finding.from_s = judged.seconds(group.first);
        finding.to_s = judged.seconds(group.end);
        finding.amount = static_cast<double>(group.stretches);
        finding.unit = "jumps";
        finding.effect = fmt::format(
            "the waveform breaks off between two samples on {} channels at once: time was lost or "
            "repeated, so later times are off by an unknown amount",
            most);
        finding.remedy = "use a faster storage medium; check the times after it against the log";
        findings.push_back(std::move(finding));
    }
}

} // namespace lull
