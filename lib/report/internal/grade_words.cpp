// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/internal/grade_words.hpp"

#include <fmt/format.h>

#include <cctype>
#include <cmath>

namespace lull {

std::string minutes_text(double time_s) {
    const auto tenths = static_cast<long long>(std::llround(time_s * 10.0));
    return fmt::format("{}:{:02}.{}", tenths / 600, tenths / 10 % 60, tenths % 10);
}

std::string known_text(const std::optional<double>& value, int decimals) {
    return value ? fmt::format("{:.{}f}", *value, decimals) : "not known";
}

std::string estimate_text(const Estimate& e, int decimals) {
    if (!e.value) return "not known";
    if (!e.low || !e.high) return known_text(e.value, decimals) + " (too few for an interval)";
    return fmt::format("{:.{}f} ({:.{}f} to {:.{}f})", *e.value, decimals, *e.low, decimals,
                       *e.high, decimals);
}

std::string counted(int count, std::string_view thing) {
    return fmt::format("{} {}{}", count, thing, count == 1 ? "" : "s");
}

std::string listener_sentences(const ListenerGrade& g) {
    const SheetTally& t = g.tally;
    std::string text = fmt::format("heard {} of {} and wrote {}.", t.counts.hits,
                                   counted(t.counts.hits + t.counts.misses, "event"),
                                   counted(t.counts.false_calls, "false call"));
    std::string right;
    const auto add = [&](std::string_view what, int count, int stated) {
        if (stated == 0) return;
        right += fmt::format("{} the {} was right in {} of {}",
                             right.empty() ? " Where stated," : " and", what, count, stated);
    };
    add("kind", t.kind_right, t.kind_stated);
    add("channel", t.channel_right, t.channel_stated);
    if (!right.empty()) text += right + ".";
    if (t.places > 0)
        text += fmt::format(" Places were off by {:.1f} m (median).", *t.place_error_m.value);
    int lost = 0;
    for (const SheetFault& fault : g.faults)
        lost += fault.line_lost ? 1 : 0;
    if (lost > 0) text += fmt::format(" {} could not be read.", counted(lost, "line"));
    return text;
}

std::string threshold_text(const HearingCurve& curve) {
    return curve.why_not.empty() ? estimate_text(curve.threshold_db, 1)
                                 : "not known: " + curve.why_not;
}

std::string clock_sentence(const ListenerGrade& g) {
    std::string words = g.shift.words;
    if (!words.empty()) words[0] = static_cast<char>(std::toupper(words[0]));
    words += ".";
    if (g.shift.total_s != 0.0)
        words += fmt::format(" The scores are taken with {:.1f} s taken off every time.",
                             g.shift.total_s);
    if (g.shift_matters)
        words +=
            fmt::format(" With the times as written: {} heard, {}, F {}.", g.as_written.counts.hits,
                        counted(g.as_written.counts.false_calls, "false call"),
                        estimate_text(g.as_written.f, 2));
    return words;
}

} // namespace lull
