// SPDX-License-Identifier: GPL-3.0-or-later
//
// Reads an object of a plan: strict_json.hpp with defaults, and with ranges from which the seed
// draws. The keys that are asked for are the known ones; finish() refuses all others.
#pragma once

#include "recording/strict_json.hpp"
#include "synthesis/plan.hpp"

#include <array>
#include <functional>
#include <optional>
#include <string>
#include <vector>

namespace lull {

class PlanReader {
  public:
    explicit PlanReader(JsonObject object) : object_(std::move(object)) {}

    [[nodiscard]] bool has(const char* key);
    [[nodiscard]] double number(const char* key, double otherwise, double low, double high);
    [[nodiscard]] Range range(const char* key, Range otherwise, double low, double high);
    [[nodiscard]] bool flag(const char* key, bool otherwise);
    [[nodiscard]] std::string text(const char* key, const std::string& otherwise);
    [[nodiscard]] std::vector<std::string> texts(const char* key); ///< one string or a list of them
    [[nodiscard]] std::array<Range, 3> ranges3(const char* key);   ///< [x, y, z], each 3 or [2, 5]
    [[nodiscard]] Position position(const char* key);
    [[nodiscard]] std::optional<PlanReader> object(const char* key);
    /// Calls each with a reader for every object of a list of at most `most`. A missing list is
    /// empty.
    void objects(const char* key, const std::function<void(PlanReader&)>& each,
                 std::size_t most = 10000);
    [[nodiscard]] const nlohmann::json& node(const char* key); ///< \throws when it is missing
    void need(const char* key);                                ///< \throws when it is missing
    void finish() const; ///< \throws for a key that was never asked for
    [[noreturn]] void fail(const char* key, const std::string& what, const std::string& mend) const;

  private:
    JsonObject object_;
    std::vector<std::string> known_;
};

} // namespace lull
