// SPDX-License-Identifier: GPL-3.0-or-later
//
// Reads one object of a plan, key by key, and refuses what nobody asked for.
#pragma once

#include "exercise/plan.hpp"

#include <nlohmann/json.hpp>

#include <functional>
#include <string>
#include <vector>

namespace lull {

class PlanReader {
  public:
    /// \param place  JSON path of the object: "events[2]"; empty for the whole file
    /// \throws Error(input) when node is not an object
    PlanReader(const nlohmann::json& node, std::string file, std::string place);

    [[nodiscard]] bool has(const char* key);
    [[nodiscard]] double number(const char* key, double otherwise, double low, double high);
    [[nodiscard]] Range range(const char* key, Range otherwise, double low, double high);
    [[nodiscard]] bool flag(const char* key, bool otherwise);
    [[nodiscard]] std::string text(const char* key, const std::string& otherwise);
    [[nodiscard]] std::vector<std::string> texts(const char* key); ///< one string or a list of them
    [[nodiscard]] std::array<Range, 3> ranges3(const char* key);   ///< [x, y, z], each 3 or [2, 5]
    [[nodiscard]] Position position(const char* key);
    [[nodiscard]] std::optional<PlanReader> object(const char* key);
    /// Calls each with a reader for every object of a list; a missing list is empty.
    void objects(const char* key, const std::function<void(PlanReader&)>& each);
    [[nodiscard]] const nlohmann::json& node(const char* key); ///< must be there
    void need(const char* key);                                ///< \throws when it is missing
    void finish() const; ///< \throws for a key that was never asked for
    [[noreturn]] void fail(const char* key, const std::string& what, const std::string& mend) const;

  private:
    [[nodiscard]] const nlohmann::json* find(const char* key);
    [[nodiscard]] std::string place_of(const std::string& key) const;
    [[nodiscard]] double checked(const nlohmann::json& value, const std::string& place, double low,
                                 double high) const;
    [[nodiscard]] Range range_of(const nlohmann::json& value, const std::string& place, double low,
                                 double high) const;

    const nlohmann::json* node_;
    std::string file_, place_;
    std::vector<std::string> known_;
};

} // namespace lull
