// SPDX-License-Identifier: GPL-3.0-or-later
#include "synthesis/draw.hpp"

#include "synthesis/exercise_signs.hpp"
#include "synthesis/stations.hpp"

#include <algorithm>
#include <filesystem>

namespace lull {

namespace {

constexpr double apart_s = 1.5;
constexpr int tries = 200; ///< to find a free time; a full plan may have none

double drawn(Random& random, const Range& range) {
    return random.between(range.low, range.high);
}

int drawn_whole(Random& random, const Range& range) {
    return random.whole(static_cast<int>(range.low), static_cast<int>(range.high));
}

template <typename T>
T one_of(Random& random, const std::vector<T>& list) {
    return list[static_cast<std::size_t>(random.whole(0, static_cast<int>(list.size()) - 1))];
}

double usual_length_s(const DrawnEvent& event) {
    if (event.sound == Sound::knocks) return 0.8 + event.interval_s * event.count;
    return event.duration_s > 0.0 ? event.duration_s + 0.5 : 3.5;
}

struct Taken {
    double from_s, to_s;
};

/// The times in which sensors are in hand.
std::vector<Taken> in_hand(const Plan& plan) {
    std::vector<Taken> taken;
    for (const PlanChange& change : plan.changes)
        taken.push_back({change.from_s - handling_s, change.from_s});
    return taken;
}

double free_time(const Plan& plan, const Range& range, double length_s,
                 const std::vector<Taken>& taken, Random& random) {
    const double low = std::max(range.low, exercise_sign_s + 0.5);
    const double high =
        std::max(low, std::min(range.high, plan.duration_s - exercise_sign_s - 0.5 - length_s));
    double time_s = low;
    for (int i = 0; i < tries; ++i) {
        time_s = random.between(low, high);
        const bool free = std::none_of(taken.begin(), taken.end(), [&](const Taken& other) {
            return time_s < other.to_s + apart_s && time_s + length_s + apart_s > other.from_s;
        });
        if (free) break;
    }
    return time_s;
}

DrawnEvent draw_one(const PlanEvent& plan_event, Random hard, Random place) {
    DrawnEvent event;
    event.sound = one_of(hard, plan_event.kinds);
    event.material = one_of(hard, plan_event.materials);
    event.snr_db = drawn(hard, plan_event.snr_db);
    event.count = drawn_whole(hard, plan_event.count);
    for (std::size_t axis = 0; axis < 3; ++axis)
        event.position_m[axis] = drawn(place, plan_event.position_m[axis]);
    event.interval_s = drawn(place, plan_event.interval_s);
    event.duration_s = drawn(place, plan_event.duration_s);
    event.unevenness = plan_event.unevenness;
    event.times_s = plan_event.time_s;
    event.hail = plan_event.hail;
    event.note = plan_event.note;
    event.shape = place.child("shape");
    return event;
}

} // namespace

std::vector<DrawnEvent> draw_events(const Plan& plan, std::uint64_t seed, int variant) {
    const Random difficulty = Random(seed).child("difficulty");
    const Random variety = Random(seed).child("events").child(static_cast<std::uint64_t>(variant));
    std::vector<DrawnEvent> events;
    std::vector<Taken> taken = in_hand(plan);
    // Events with fixed times come first; drawn ones avoid them.
    for (const bool fixed : {true, false}) {
        for (std::size_t i = 0; i < plan.events.size(); ++i) {
            const PlanEvent& each = plan.events[i];
            if ((each.time_s.low == each.time_s.high) != fixed) continue;
            for (int r = 0; r < each.repeat; ++r) {
                const auto number = static_cast<std::uint64_t>(r);
                DrawnEvent event = draw_one(each, difficulty.child(i).child(number),
                                            variety.child(i).child(number));
                Random when = variety.child("times").child(i).child(number);
                const double length_s = usual_length_s(event);
                event.time_s =
                    fixed ? each.time_s.low : free_time(plan, each.time_s, length_s, taken, when);
                if (!each.file.empty()) {
                    event.file =
                        (std::filesystem::path(plan.path).parent_path() / each.file).string();
                }
                taken.push_back({event.time_s, event.time_s + length_s});
                events.push_back(std::move(event));
            }
        }
    }
    std::stable_sort(events.begin(), events.end(),
                     [](const auto& a, const auto& b) { return a.time_s < b.time_s; });
    return events;
}

double another_time(const Plan& plan, const std::vector<DrawnEvent>& events, std::size_t event,
                    int turn) {
    const DrawnEvent& moved = events[event];
    if (moved.times_s.low == moved.times_s.high) return moved.time_s;
    std::vector<Taken> taken = in_hand(plan);
    for (std::size_t i = 0; i < events.size(); ++i)
        if (i != event)
            taken.push_back({events[i].time_s, events[i].time_s + usual_length_s(events[i])});
    Random when = moved.shape.child("again").child(static_cast<std::uint64_t>(turn));
    return free_time(plan, moved.times_s, usual_length_s(moved), taken, when);
}

} // namespace lull
