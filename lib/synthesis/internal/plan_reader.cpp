// SPDX-License-Identifier: GPL-3.0-or-later
#include "synthesis/internal/plan_reader.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace lull {
namespace {

constexpr double farthest_m = 1e4;

/// A number, or [low, high], within limits; empty when it is neither.
std::optional<Range> range_of(const nlohmann::json& value, double low, double high) {
    const auto within = [&](const nlohmann::json& number) {
        const double n = number.is_number() ? number.get<double>() : NAN;
        return n >= low && n <= high;
    };
    if (within(value)) return Range(value.get<double>());
    if (!value.is_array() || value.size() != 2 || !within(value[0]) || !within(value[1]) ||
        value[0] > value[1])
        return std::nullopt;
    return Range(value[0].get<double>(), value[1].get<double>());
}

} // namespace

void PlanReader::fail(const char* key, const std::string& what, const std::string& mend) const {
    object_.fail(key, what, mend);
}

bool PlanReader::has(const char* key) {
    if (std::find(known_.begin(), known_.end(), key) == known_.end()) known_.emplace_back(key);
    return object_.has(key);
}

void PlanReader::need(const char* key) {
    if (!has(key)) object_.need(key);
}

const nlohmann::json& PlanReader::node(const char* key) {
    need(key);
    return object_.at(key);
}

double PlanReader::number(const char* key, double otherwise, double low, double high) {
    return has(key) ? object_.number(key, low, high) : otherwise;
}

Range PlanReader::range(const char* key, Range otherwise, double low, double high) {
    if (!has(key)) return otherwise;
    if (!node(key).is_array()) return object_.number(key, low, high);
    if (const auto range = range_of(node(key), low, high)) return *range;
    fail(key, node(key).dump() + " does not fit",
         fmt::format("a number from {} to {}, or [low, high] of such", low, high));
}

bool PlanReader::flag(const char* key, bool otherwise) {
    return has(key) ? object_.flag(key) : otherwise;
}

std::string PlanReader::text(const char* key, const std::string& otherwise) {
    return has(key) ? object_.text(key) : otherwise;
}

std::vector<std::string> PlanReader::texts(const char* key) {
    if (!has(key)) return {};
    const auto& value = node(key);
    if (value.is_string()) return {object_.text(key)};
    const bool fits =
        value.is_array() && !value.empty() &&
        std::all_of(value.begin(), value.end(), [](const auto& each) { return each.is_string(); });
    if (!fits) fail(key, value.dump() + " does not fit", "a text or a list of texts");
    return value.get<std::vector<std::string>>();
}

std::array<Range, 3> PlanReader::ranges3(const char* key) {
    const auto& value = node(key);
    std::array<Range, 3> ranges;
    bool fits = value.is_array() && value.size() == 3;
    for (std::size_t axis = 0; axis < 3 && fits; ++axis) {
        const auto range = range_of(value[axis], -farthest_m, farthest_m);
        fits = range.has_value();
        ranges[axis] = range.value_or(0.0);
    }
    if (!fits)
        fail(key, value.dump() + " does not fit",
             "[x, y, z] in metres, each a number or [low, high]");
    return ranges;
}

Position PlanReader::position(const char* key) {
    const auto ranges = ranges3(key);
    Position position{};
    for (std::size_t axis = 0; axis < 3; ++axis) {
        if (ranges[axis].low != ranges[axis].high) fail(key, "a range", "a fixed [x, y, z] here");
        position[axis] = ranges[axis].low;
    }
    return position;
}

std::optional<PlanReader> PlanReader::object(const char* key) {
    if (!has(key)) return std::nullopt;
    return PlanReader(object_.object(key));
}

void PlanReader::objects(const char* key, const std::function<void(PlanReader&)>& each,
                         std::size_t most) {
    if (!has(key)) return;
    for (const JsonObject& object : object_.objects(key, most)) {
        PlanReader reader(object);
        each(reader);
        reader.finish();
    }
}

void PlanReader::finish() const {
    object_.allow_only(known_);
}

} // namespace lull
