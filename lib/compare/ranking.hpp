// SPDX-License-Identifier: GPL-3.0-or-later
//
// Which channel heard an event most strongly. Only channels of one kind and one level unit are set
// against each other.
#pragma once

#include "health/finding.hpp"
#include "recording/recording.hpp"

#include <functional>
#include <optional>
#include <span>
#include <string>
#include <vector>

namespace lull {

/// An event as a table of events gives it.
struct EventSpan {
    int event = 0; ///< number
    double onset_s = 0.0, end_s = 0.0;
    std::vector<int> channels; ///< that heard it, by index
};

struct RankRow {
    int event = 0; ///< 0: all events together
    ChannelKind kind = ChannelKind::unknown;
    std::optional<int> rank; ///< from 1; none: not above the noise, so not ranked
    int channel = 0;
    std::optional<double> peak_energy_db, snr_db, below_strongest_db;
    std::string comparable; ///< "yes", "no", "assumed"
    std::string level_unit;
    std::optional<double> sigma_db; ///< one sigma of peak_energy_db from the noise alone
};

/// What a channel measured of an event, mean squares re full scale.
struct PeakEnergy {
    double power = 0.0; ///< largest mean power over any 50 ms
    double floor = 0.0; ///< noise floor there
};

/// Largest mean power over any 50 ms of band-passed samples; of all of them when there are fewer.
[[nodiscard]] double peak_energy(std::span<const float> samples, double rate_hz);

/// The stretch in which an event's peak energy is looked for: from 50 ms before its onset to its
/// end and 50 ms, cut to the recording.
[[nodiscard]] std::pair<Frame, Frame> ranking_stretch(const EventSpan& event, double rate_hz,
                                                      Frame frames);

/// Ranks one event. \param measured one for each channel of the recording
/// \param findings  of the channels: those whose levels mislead at the onset are not comparable
[[nodiscard]] std::vector<RankRow> rank_event(const EventSpan& event,
                                              std::span<const PeakEnergy> measured,
                                              const Recording& recording,
                                              std::span<const Finding> findings = {});

/// Ranks all events together by the mean of their peak energies over the floor, told one after
/// another: of a million events no more is kept than of one.
class TotalRanking {
  public:
    /// \param recording  outlives this \param events  that will be added
    TotalRanking(const Recording& recording, std::size_t events)
        : recording_(&recording), events_(static_cast<double>(events)) {}

    /// \param measured  one for each channel of the recording
    void add(const EventSpan& event, std::span<const PeakEnergy> measured);
    /// Without events none.
    [[nodiscard]] std::vector<RankRow> rows(std::span<const Finding> findings = {}) const;

  private:
    const Recording* recording_;
    double events_;
    std::vector<PeakEnergy> means_; ///< in the units of each channel at the first event
    double first_s_ = 0.0, last_s_ = 0.0;
};

} // namespace lull
