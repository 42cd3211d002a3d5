// SPDX-License-Identifier: GPL-3.0-or-later
#include "detect/internal/overlap.hpp"

#include "conventions.hpp"

#include <algorithm>

namespace lull {

namespace {

constexpr double mostly = 0.5;        ///< share of a stretch's energy over the floor
constexpr double nearly_all = 0.8;    ///< the same: whatever its pitch, it does not last
constexpr double sharp_s = 0.02;      ///< rise of what was struck, a bounce aside
constexpr double compact_s = 0.08;    ///< energy over peak energy of what was struck and decays;
                                      ///< 0.05 at least, 0.11 and more of what holds its level
constexpr double front_loaded = 0.65; ///< share of the energy in the first half of what was struck
                                      ///< and rings; half of it in what holds its level
constexpr double stands_out = 4.0;    ///< 6 dB: a knock during a voice that is still heard as one
constexpr double sure = 0.5;
constexpr double edge_s = 0.1;    ///< within which a tone's onset and end lie
constexpr double ringing_s = 0.3; ///< a pitch held longer than a struck thing rings
constexpr double smear_s = 0.09;  ///< a stretch begins this much before its first impulse

bool inside(const Arrival& impulse, const Arrival& sound) {
    return impulse.onset_s >= sound.onset_s - smear_s && impulse.onset_s < sound.end_s;
}

double energy_over_floor(const Arrival& arrival) {
    return std::max(0.0, arrival.energy - arrival.floor_power * (arrival.end_s - arrival.onset_s));
}

/// Power of a lasting sound in its louder half, or at its loudest: what an impulse must stand out
/// of.
double loudness(const Arrival& sound) {
    return sound.floor_power > 0.0 ? sound.floor_power * db_to_power(sound.snr_db)
                                   : sound.peak_energy;
}

/// Whether an impulse is part of the sound it lies in: a voice is full of them, a steady tone only
/// begins and ends with one.
bool belongs(const Arrival& impulse, const Arrival& sound) {
    if (impulse.peak_energy >= stands_out * loudness(sound)) return false;
    return sound.kind != EventKind::horn || impulse.onset_s < sound.onset_s + edge_s ||
           impulse.onset_s > sound.end_s - edge_s;
}

/// A sharp onset, and decay from it on: what lasts may begin sharply, but holds its level.
bool struck(const Arrival& impulse) {
    return impulse.shape.rise_s < sharp_s &&
           (energy_over_floor(impulse) < compact_s * impulse.peak_energy ||
            impulse.shape.early >= front_loaded);
}

/// Share of a lasting sound's energy that what was struck in it accounts for.
double explained(const std::vector<Arrival>& impulses, const Arrival& sound) {
    double sum = 0.0;
    for (const Arrival& impulse : impulses)
        if (inside(impulse, sound) && struck(impulse)) sum += energy_over_floor(impulse);
    const double all = energy_over_floor(sound);
    return all > 0.0 ? std::min(1.0, sum / all) : 1.0;
}

} // namespace

void settle_overlaps(std::vector<Arrival>& impulses, std::vector<Arrival>& sustained) {
    std::vector<char> drop_impulse(impulses.size(), 0);
    std::vector<Arrival> kept;
    for (Arrival& sound : sustained) {
        const double share = explained(impulses, sound);
        const bool held = sound.shape.voiced_run_s >= ringing_s && sound.shape.voiced_share >= 0.5;
        // What lasts and is neither voice nor horn may be the ringing of what was struck.
        const bool known = sound.confidence >= sure && sound.kind != EventKind::other;
        // The knocks are all there is: nothing lasts, whatever the pitch they ring at.
        if (sound.kind != EventKind::voice_like &&
            (share >= nearly_all || (share >= mostly && !known && !held)))
            continue;
        if (known) {
            for (std::size_t i = 0; i < impulses.size(); ++i)
                if (inside(impulses[i], sound) && belongs(impulses[i], sound)) drop_impulse[i] = 1;
        }
        kept.push_back(std::move(sound));
    }
    std::size_t number = 0;
    std::erase_if(impulses, [&](const Arrival&) { return drop_impulse[number++] != 0; });
    sustained = std::move(kept);
}

} // namespace lull
