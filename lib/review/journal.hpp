// SPDX-License-Identifier: GPL-3.0-or-later
//
// Finished units of work, kept on the disk until the whole is done, so that a run that was killed
// can be taken up again.
//
// A unit's file is written under a temporary name and renamed, and holds a digest of all that its
// result depends on: the program, the settings, the channels, and the files that it reads (size,
// times, inode). Whatever of these has changed, the unit is done anew, and only it.
#pragma once

#include "recording/recording.hpp"
#include "recording/units.hpp"
#include "review/settings.hpp"
#include "review/unit_pass.hpp"

#include <atomic>
#include <optional>
#include <string>
#include <vector>

namespace lull {

/// Size, times and inode of each input, as text; empty for one without a name (standard input).
[[nodiscard]] std::vector<std::string> identities_of(const Recording& recording);

class UnitJournal {
  public:
    /// \param folder      where it is kept; made with the first unit
    /// \param recording   outlives the journal
    /// \param program     digest of the program itself
    /// \param resume      use what an earlier run left there; otherwise that is removed
    UnitJournal(std::string folder, const Recording& recording, const Settings& settings,
                const Wanted& wanted, const std::string& program, bool resume);

    ~UnitJournal(); ///< without `resume` nothing stays, unless the process is killed
    UnitJournal(const UnitJournal&) = delete;
    UnitJournal& operator=(const UnitJournal&) = delete;

    /// The result of a unit that an earlier run finished, if it still holds. Safe on any thread.
    [[nodiscard]] std::optional<UnitResult> find(const Unit& unit);
    /// Keeps a finished unit. Safe on any thread. \throws Error(output)
    void keep(const Unit& unit, const UnitResult& result);
    /// Lets it stay when the object goes, with `resume` or without.
    void leave() { stays_ = true; }
    /// Removes it from the disk.
    void remove() const;

    [[nodiscard]] int found() const { return found_; } ///< units that find() gave

  private:
    [[nodiscard]] std::string key_of(const Unit& unit) const;
    [[nodiscard]] std::string path_of(const Unit& unit) const;

    std::string folder_;
    const Recording* recording_;
    std::string settings_key_;
    std::vector<std::string> identities_;
    bool resume_, stays_;
    bool usable_;
    std::atomic<int> found_ = 0;
};

} // namespace lull
