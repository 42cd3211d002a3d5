// SPDX-License-Identifier: GPL-3.0-or-later
#include "review/packing.hpp"

#include "report/packed_sound.hpp"
#include "report/pictures/png.hpp"
#include "report/pictures/spectrogram.hpp"
#include "review/work.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <memory>
#include <utility>

namespace lull {
namespace {

/// Heard from so long before on: a codec needs that to settle, and the page leaves it out.
constexpr double run_in_s = 0.1;
constexpr double passage_s = 20.0;
constexpr int overview_columns = 1600, overview_rows = 64;
constexpr double shortest_column_s = 0.02;
/// Shades of the overview: from so far under the usual level of a frequency to so far over it.
constexpr double palest_db = -6.0, darkest_db = 30.0;
constexpr double windows_a_length = 1.6; ///< windows overlap by a third, so that no tap is missed

/// Largest powers: rows of a column together, the lowest frequency first.
using Columns = std::vector<float>;

struct Passage {
    std::string script; ///< empty: no sound
    std::vector<int> channels;
    std::vector<Columns> columns; ///< a channel each
};

struct Plan {
    const Account* account = nullptr;
    bool overview = false;
    double column_s = 1.0, high_hz = 0.0;
    std::size_t count = 0; ///< passages
    std::size_t columns_a_passage = 0;

    [[nodiscard]] std::pair<double, double> span(std::size_t number) const {
        const double from_s = account->from_s + static_cast<double>(number) * length_s();
        return {from_s, std::min(from_s + length_s(), account->to_s)};
    }
    [[nodiscard]] double length_s() const {
        return static_cast<double>(columns_a_passage) * column_s;
    }
};

/// Passages hold whole columns, so that each column is made from one.
Plan plan_for(const Account& account, bool overview) {
    Plan plan{&account, overview};
    const double length_s = account.to_s - account.from_s;
    plan.column_s = std::max(shortest_column_s, length_s / overview_columns);
    plan.high_hz = std::min(picture_high_hz, account.recording().rate_hz / 2.0);
    plan.columns_a_passage =
        static_cast<std::size_t>(std::max(1.0, std::round(passage_s / plan.column_s)));
    plan.count = static_cast<std::size_t>(std::max(1.0, std::ceil(length_s / plan.length_s())));
    return plan;
}

/// Makes the passages on one thread.
class Packer {
  public:
    explicit Packer(const Plan& plan) : plan_(plan), stream_(plan.account->recording().open()) {}

    Passage pack(std::size_t number) {
        const Account& account = *plan_.account;
        const Recording& recording = account.recording();
        const auto [from_s, to_s] = plan_.span(number);
        const double begin_s = std::max(account.from_s, from_s - run_in_s);
        const auto first = static_cast<Frame>(std::llround(begin_s * recording.rate_hz));
        stream_->read(first, static_cast<Frame>(std::llround(to_s * recording.rate_hz)) - first,
                      block_);
        Passage passage;
        if (plan_.overview)
            for (int channel = 0; channel < block_.channels; ++channel)
                passage.columns.push_back(columns_of(channel, from_s, to_s));
        if (account.disclosure.sound && block_.frames > 0) add_sound(passage);
        return passage;
    }

  private:
    void add_sound(Passage& passage) {
        const Recording& recording = plan_.account->recording();
        for (const TimeSpan& withheld : plan_.account->disclosure.withheld)
            silence(withheld);
        std::vector<ExcerptSound> sounds;
        for (int channel = 0; channel < block_.channels; ++channel) {
            sounds.push_back(pack_sound(block_.channel(channel), recording.rate_hz,
                                        recording.seconds(block_.first), channel, rules_));
            passage.channels.push_back(channel);
        }
        passage.script = sound_script(sounds);
    }

    void silence(const TimeSpan& span) {
        const double rate_hz = plan_.account->recording().rate_hz;
        const auto frame = [&](double time_s) {
            return std::clamp<Frame>(std::llround(time_s * rate_hz) - block_.first, 0,
                                     block_.frames);
        };
        const Frame begin = frame(span.from_s), end = frame(span.to_s);
        for (int channel = 0; channel < block_.channels; ++channel)
            std::ranges::fill(
                block_.channel(channel).subspan(static_cast<std::size_t>(begin),
                                                static_cast<std::size_t>(end - begin)),
                0.0F);
    }

    /// Of each column the largest power of each row of frequencies; -1: may not be seen.
    Columns columns_of(int channel, double from_s, double to_s) {
        const Recording& recording = plan_.account->recording();
        const std::span<const float> all = std::as_const(block_).channel(channel);
        const auto skip = static_cast<std::size_t>(std::clamp<Frame>(
            std::llround(from_s * recording.rate_hz) - block_.first, 0, block_.frames));
        const auto wanted = static_cast<int>((to_s - from_s) / picture_window_s * windows_a_length);
        const Spectrogram spectra =
            spectrogram(all.subspan(skip), recording.rate_hz, picture_window_s, wanted);
        Columns columns(plan_.columns_a_passage * overview_rows, 0.0F);
        std::size_t last = 0;
        for (int window = 0; window < spectra.columns; ++window) {
            const auto column = static_cast<std::size_t>(
                std::min(static_cast<double>(plan_.columns_a_passage) - 1.0,
                         (spectra.first_s + window * spectra.step_s) / plan_.column_s));
            gather(spectra, window, columns.data() + column * overview_rows);
            last = column;
        }
        // Windows end before the stretch does: columns after the last that has one are like it.
        for (std::size_t column = last + 1; column < plan_.columns_a_passage; ++column)
            std::copy_n(columns.data() + last * overview_rows, overview_rows,
                        columns.data() + column * overview_rows);
        const auto may_see = [&](std::size_t column) {
            const double at_s = from_s + static_cast<double>(column) * plan_.column_s;
            return plan_.account->disclosure.may_see(at_s, at_s + plan_.column_s);
        };
        for (std::size_t column = 0; column < plan_.columns_a_passage; ++column)
            if (!may_see(column) || !may_see(std::min(column, last)))
                std::fill_n(columns.data() + column * overview_rows, overview_rows, -1.0F);
        return columns;
    }

    void gather(const Spectrogram& spectra, int window, float* rows) const {
        const float* power = spectra.power.data() + static_cast<std::size_t>(window) *
                                                        static_cast<std::size_t>(spectra.bins);
        for (int bin = 0; bin < spectra.bins; ++bin) {
            const int row = static_cast<int>(bin * spectra.bin_hz / plan_.high_hz * overview_rows);
            if (row < overview_rows) rows[row] = std::max(rows[row], power[bin]);
        }
    }

    const Plan& plan_;
    ExcerptRules rules_;
    std::unique_ptr<Stream> stream_;
    Block block_;
};

/// The power that half of a row's columns stay under.
float usual_power(const Columns& columns, int row) {
    std::vector<float> powers;
    for (std::size_t at = static_cast<std::size_t>(row); at < columns.size(); at += overview_rows)
        if (columns[at] > 0.0F) powers.push_back(columns[at]);
    if (powers.empty()) return 0.0F;
    const auto middle = powers.begin() + static_cast<std::ptrdiff_t>(powers.size() / 2);
    std::ranges::nth_element(powers, middle);
    return *middle;
}

Overview picture_of_all(const Columns& columns, const Plan& plan) {
    const double length_s = plan.account->to_s - plan.account->from_s;
    const auto width =
        std::min(columns.size() / overview_rows,
                 static_cast<std::size_t>(std::ceil(length_s / plan.column_s - 1e-9)));
    GreyImage image{static_cast<int>(width), overview_rows, {}};
    image.pixels.assign(width * overview_rows, 255);
    for (int row = 0; row < overview_rows; ++row) {
        const float usual = usual_power(columns, row);
        if (!(usual > 0.0F)) continue;
        for (std::size_t column = 0; column < width; ++column) {
            const float power = columns[column * overview_rows + static_cast<std::size_t>(row)];
            const double over_db =
                power > 0.0F
                    ? 10.0 * std::log10(static_cast<double>(power) / static_cast<double>(usual))
                    : palest_db;
            const double shade =
                std::clamp((over_db - palest_db) / (darkest_db - palest_db), 0.0, 1.0);
            // Sixteen shades: more would be no clearer, and the file several times as large.
            image.pixels[static_cast<std::size_t>(overview_rows - 1 - row) * width + column] =
                static_cast<std::uint8_t>(17.0 * std::round(15.0 * (1.0 - shade)));
        }
    }
    return {plan.account->from_s, plan.account->from_s + static_cast<double>(width) * plan.column_s,
            plan.high_hz, to_png(image)};
}

} // namespace

Packed pack_recording(const Account& account, bool overview, OutputFolder& folder, int jobs,
                      const ProgressSink& progress) {
    const Plan plan = plan_for(account, overview);
    Packed packed;
    std::vector<Columns> columns(account.recording().channels.size());
    ProgressState state{"packing the sound", 0.0, account.to_s - account.from_s};
    OrderedWork<Passage>::run(
        plan.count, jobs,
        [&]() -> OrderedWork<Passage>::Piece {
            auto packer = std::make_shared<Packer>(plan);
            return [packer](std::size_t number, const std::atomic<bool>&) {
                return packer->pack(number);
            };
        },
        [&](std::size_t number, Passage&& passage) {
            const auto [from_s, to_s] = plan.span(number);
            state.done_s += to_s - from_s;
            for (std::size_t c = 0; c < passage.columns.size(); ++c)
                columns[c].insert(columns[c].end(), passage.columns[c].begin(),
                                  passage.columns[c].end());
            if (passage.script.empty()) return;
            packed.sounds.push_back({from_s, to_s, std::move(passage.channels),
                                     fmt::format("sound/{:05}.js", number + 1), false});
            folder.write(packed.sounds.back().file, passage.script);
        },
        [&] { progress(state); });
    if (overview)
        for (const Columns& own : columns)
            packed.overview.push_back(picture_of_all(own, plan));
    return packed;
}

} // namespace lull
