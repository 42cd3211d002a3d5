// SPDX-License-Identifier: GPL-3.0-or-later
#include "account/internal/grouping.hpp"

#include "detect/strength.hpp"

#include <algorithm>
#include <map>
#include <utility>

namespace lull {
namespace {

/// Syllables of one call are at most this far apart; a pause for breath is as long.
constexpr double call_gap_s = 1.5;
/// Sounds like those of a series are one find while at most this far apart.
constexpr double again_gap_s = 30.0;
/// Blasts of at least this confidence form signals, as in the detector.
constexpr double blast_confidence = 0.3;

bool share_a_channel(const Event& a, const Find& find) {
    return std::ranges::any_of(a.arrivals, [&](const Arrival& arrival) {
        return std::ranges::find(find.channels, arrival.channel) != find.channels.end();
    });
}

/// Gathers events in order of onset into finds.
class Gathering {
  public:
    explicit Gathering(const FindInput& heard) : heard_(heard) {
        const std::vector<Event> events = horns_of(heard);
        for (const HornSignal& signal : horn_signals(
                 events, heard.horns ? *heard.horns : usual_horn_rules(), blast_confidence))
            for (const int number : signal.events)
                if (signal.events.size() > 1) signal_of_[number] = signal.events.front();
    }

    std::vector<Find> finds() {
        for (const Event& event : heard_.events)
            if (!event.hail) add(event);
        for (const Series& series : heard_.series)
            if (const auto found = of_series_.find(series.number); found != of_series_.end()) {
                Find& find = finds_[found->second];
                find.channel = series.channel;
                find.confidence = std::max(find.confidence, series.confidence);
            }
        return std::move(finds_);
    }

  private:
    static std::vector<Event> horns_of(const FindInput& heard) {
        std::vector<Event> horns;
        for (const Event& event : heard.events)
            if (event.kind == EventKind::horn && !event.hail && !event.series)
                horns.push_back(event);
        return horns;
    }

    void add(const Event& event) {
        if (event.series) return join(of_series_, *event.series, event, FindForm::series);
        if (const auto signal = signal_of_.find(event.number); signal != signal_of_.end())
            return join(of_signal_, signal->second, event, FindForm::signal);
        if (event.like) return add_again(event);
        if (event.kind == EventKind::voice_like) return add_syllable(event);
        begin(event, is_strong_blow(event) ? FindForm::blow : FindForm::single);
    }

    void join(std::map<int, std::size_t>& known, int key, const Event& event, FindForm form) {
        const auto [found, is_new] = known.try_emplace(key, finds_.size());
        if (is_new)
            begin(event, form);
        else
            extend(finds_[found->second], event);
    }

    void add_again(const Event& event) {
        const auto found = again_.find(event.like->series);
        if (found != again_.end() && event.onset_s - finds_[found->second].to_s <= again_gap_s)
            return extend(finds_[found->second], event);
        again_[event.like->series] = finds_.size();
        begin(event, FindForm::again);
    }

    void add_syllable(const Event& event) {
        if (call_ && event.onset_s - finds_[*call_].to_s <= call_gap_s &&
            share_a_channel(event, finds_[*call_]))
            return extend(finds_[*call_], event);
        call_ = finds_.size();
        begin(event, FindForm::call);
    }

    void begin(const Event& event, FindForm form) {
        Find find;
        find.form = form;
        find.kind = event.kind;
        find.series = event.series;
        finds_.push_back(std::move(find));
        extend(finds_.back(), event);
    }

    void extend(Find& find, const Event& event) {
        const bool better =
            find.events.empty() || event.confidence > find.confidence ||
            (event.confidence == find.confidence && snr_of(event) > best_snr_db(find));
        if (better) {
            find.best = event.number;
            find.channel = event.strongest;
        }
        find.from_s = find.events.empty() ? event.onset_s : std::min(find.from_s, event.onset_s);
        find.to_s = std::max(find.to_s, event.end_s);
        find.confidence = std::max(find.confidence, event.confidence);
        find.snr_db = std::max(find.snr_db, snr_of(event));
        find.strong_blow = find.strong_blow || is_strong_blow(event);
        for (const Arrival& arrival : event.arrivals)
            if (std::ranges::find(find.channels, arrival.channel) == find.channels.end())
                find.channels.push_back(arrival.channel);
        std::ranges::sort(find.channels);
        find.events.push_back(event.number);
    }

    double best_snr_db(const Find& find) const {
        return snr_of(heard_.events[static_cast<std::size_t>(find.best) - 1]);
    }

    const FindInput& heard_;
    std::vector<Find> finds_;
    std::map<int, std::size_t> of_series_, of_signal_, again_;
    std::map<int, int> signal_of_; ///< from an event to the first event of its signal
    std::optional<std::size_t> call_;
};

} // namespace

std::vector<Find> grouped(const FindInput& heard) {
    return Gathering(heard).finds();
}

} // namespace lull
