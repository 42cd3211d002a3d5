// SPDX-License-Identifier: GPL-3.0-or-later
//
// Finished units of work as files.
//
// A unit's file is written under a temporary name and renamed, and holds a digest of all that its
// result depends on: the program, the settings, the channels, and the files that it reads. Whatever
// of these has changed, the unit is not found.
#pragma once

#include "recording/recording.hpp"
#include "recording/units.hpp"
#include "review/settings.hpp"
#include "review/unit_pass.hpp"

#include <memory>
#include <optional>
#include <string>
#include <vector>

namespace lull {

/// Size, times and inode of each input, as text; empty for one without a name (standard input).
/// Cheap, and true on one machine.
[[nodiscard]] std::vector<std::string> identities_of(const Recording& recording);

/// Size and SHA-256 of each input, as text: true on every machine. Inputs whose digest has not been
/// computed have none, and units that read them cannot be kept or found.
[[nodiscard]] std::vector<std::string> contents_of(const Recording& recording);

/// Whether a unit's result can depend on an input of the recording, by its index.
[[nodiscard]] bool depends_on(const Recording& recording, const Unit& unit, std::size_t input);

class UnitCheck;

class UnitStore {
  public:
    /// \param recording   outlives the store
    /// \param program     digest of the program itself
    /// \param identities  of the recording's inputs
    UnitStore(const Recording& recording, const Settings& settings, const Wanted& wanted,
              const std::string& program, std::vector<std::string> identities);

    /// A unit's result from a folder, if it is there, still holds, and can be one of this
    /// recording. Safe on any thread.
    [[nodiscard]] std::optional<UnitResult> find(const std::string& folder, const Unit& unit) const;
    /// Puts a finished unit there; the folder is made. Safe on any thread, and beside other
    /// processes that keep the same unit. \throws Error(output)
    void keep(const std::string& folder, const Unit& unit, const UnitResult& result) const;
    /// Whether every input can be told from another.
    [[nodiscard]] bool knows_inputs() const;

  private:
    [[nodiscard]] std::string key_of(const Unit& unit) const; ///< empty: an input is not known

    const Recording* recording_;
    std::string settings_key_;
    std::vector<std::string> identities_;
    std::shared_ptr<const UnitCheck> check_;
};

/// "unit-000012": the name of a unit's file.
[[nodiscard]] std::string unit_file_name(int number);

} // namespace lull
