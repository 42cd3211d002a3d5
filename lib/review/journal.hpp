// SPDX-License-Identifier: GPL-3.0-or-later
//
// Finished units of work, kept on the disk until the whole is done, so that a run that was killed
// can be taken up again, and a run on several machines be joined.
#pragma once

#include "review/unit_store.hpp"

#include <atomic>
#include <optional>
#include <string>
#include <vector>

namespace lull {

class UnitJournal {
  public:
    /// \param folder      where it is kept; made with the first unit
    /// \param recording   outlives the journal
    /// \param program     digest of the program itself
    /// \param resume      use what an earlier run left there; otherwise that is removed
    UnitJournal(std::string folder, const Recording& recording, const Settings& settings,
                const Wanted& wanted, const std::string& program, bool resume);

    /// One that only gives: the units that others did lie in several folders, and stay there.
    UnitJournal(std::vector<std::string> folders, UnitStore store);

    ~UnitJournal(); ///< without `resume` nothing stays, unless the process is killed
    UnitJournal(const UnitJournal&) = delete;
    UnitJournal& operator=(const UnitJournal&) = delete;

    /// The result of a unit that an earlier run finished, if it still holds. Safe on any thread.
    [[nodiscard]] std::optional<UnitResult> find(const Unit& unit);
    /// Keeps a finished unit. Safe on any thread. \throws Error(output)
    void keep(const Unit& unit, const UnitResult& result);
    /// Lets it stay when the object goes, with `resume` or without.
    void leave() { stays_ = true; }
    /// Removes it from the disk; nothing of others.
    void remove() const;

    [[nodiscard]] int found() const { return found_; } ///< units that find() gave

  private:
    std::vector<std::string> folders_; ///< the first is written
    UnitStore store_;
    bool resume_, stays_;
    bool owned_; ///< the folder is its own to write and remove
    std::atomic<int> found_ = 0;
};

} // namespace lull
