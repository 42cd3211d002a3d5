// SPDX-License-Identifier: GPL-3.0-or-later
#include "review/journal.hpp"

#include "error.hpp"

#include <filesystem>
#include <utility>

namespace lull {

UnitJournal::UnitJournal(std::string folder, const Recording& recording, const Settings& settings,
                         const Wanted& wanted, const std::string& program, bool resume)
    : folders_{std::move(folder)},
      store_(recording, settings, wanted, program, identities_of(recording)), resume_(resume),
      stays_(resume), owned_(true) {
    if (!resume_) remove();
    if (resume_ && !store_.knows_inputs())
        throw_usage("--resume with standard input", "give a file, which can be read again");
}

UnitJournal::UnitJournal(std::vector<std::string> folders, UnitStore store)
    : folders_(std::move(folders)), store_(std::move(store)), resume_(true), stays_(true),
      owned_(false) {}

UnitJournal::~UnitJournal() {
    if (!stays_) remove();
}

std::optional<UnitResult> UnitJournal::find(const Unit& unit) {
    if (!resume_) return std::nullopt;
    for (const std::string& folder : folders_)
        if (std::optional<UnitResult> result = store_.find(folder, unit)) {
            ++found_;
            return result;
        }
    return std::nullopt;
}

void UnitJournal::keep(const Unit& unit, const UnitResult& result) {
    if (owned_ && store_.knows_inputs()) store_.keep(folders_.front(), unit, result);
}

void UnitJournal::remove() const {
    if (!owned_) return;
    std::error_code ignored;
    std::filesystem::remove_all(folders_.front(), ignored);
}

} // namespace lull
