// SPDX-License-Identifier: GPL-3.0-or-later
#include "exercise/internal/plan_reader.hpp"

#include "error.hpp"
#include "recording/strict_json.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace lull {

PlanReader::PlanReader(const nlohmann::json& node, std::string file, std::string place)
    : node_(&node), file_(std::move(file)), place_(std::move(place)) {
    if (!node.is_object()) throw_input(file_, place_, "not an object", "write {...}");
}

std::string PlanReader::place_of(const std::string& key) const {
    return place_.empty() ? key : place_ + "." + key;
}

void PlanReader::fail(const char* key, const std::string& what, const std::string& mend) const {
    throw_input(file_, place_of(key), what, mend);
}

const nlohmann::json* PlanReader::find(const char* key) {
    if (std::find(known_.begin(), known_.end(), key) == known_.end()) known_.emplace_back(key);
    const auto found = node_->find(key);
    return found == node_->end() ? nullptr : &*found;
}

bool PlanReader::has(const char* key) {
    return find(key) != nullptr;
}

void PlanReader::need(const char* key) {
    if (!has(key)) fail(key, "is missing", "");
}

const nlohmann::json& PlanReader::node(const char* key) {
    need(key);
    return *find(key);
}

double PlanReader::checked(const nlohmann::json& value, const std::string& place, double low,
                           double high) const {
    const double number = value.is_number() ? value.get<double>() : NAN;
    if (!(number >= low && number <= high)) {
        throw_input(file_, place, fmt::format("{} does not fit", value.dump()),
                    fmt::format("a number from {} to {}", low, high));
    }
    return number;
}

double PlanReader::number(const char* key, double otherwise, double low, double high) {
    const auto* value = find(key);
    return value ? checked(*value, place_of(key), low, high) : otherwise;
}

Range PlanReader::range_of(const nlohmann::json& value, const std::string& place, double low,
                           double high) const {
    if (!value.is_array()) return {checked(value, place, low, high)};
    if (value.size() != 2) {
        throw_input(file_, place, fmt::format("{} numbers", value.size()),
                    "one number or [low, high]");
    }
    const Range range{checked(value[0], place, low, high), checked(value[1], place, low, high)};
    if (range.low > range.high) throw_input(file_, place, "upside down", "[low, high]");
    return range;
}

Range PlanReader::range(const char* key, Range otherwise, double low, double high) {
    const auto* value = find(key);
    return value ? range_of(*value, place_of(key), low, high) : otherwise;
}

bool PlanReader::flag(const char* key, bool otherwise) {
    const auto* value = find(key);
    if (!value) return otherwise;
    if (!value->is_boolean()) fail(key, value->dump() + " does not fit", "true or false");
    return value->get<bool>();
}

std::string PlanReader::text(const char* key, const std::string& otherwise) {
    const auto* value = find(key);
    if (!value) return otherwise;
    if (!value->is_string()) fail(key, value->dump() + " does not fit", "a text in quotes");
    return value->get<std::string>();
}

std::vector<std::string> PlanReader::texts(const char* key) {
    const auto* value = find(key);
    if (!value) return {};
    if (value->is_string()) return {value->get<std::string>()};
    const bool fits = value->is_array() && !value->empty() &&
                      std::all_of(value->begin(), value->end(),
                                  [](const auto& each) { return each.is_string(); });
    if (!fits) fail(key, value->dump() + " does not fit", "a text or a list of texts");
    return value->get<std::vector<std::string>>();
}

std::array<Range, 3> PlanReader::ranges3(const char* key) {
    const auto& value = node(key);
    if (!value.is_array() || value.size() != 3) {
        fail(key, value.dump() + " does not fit",
             "[x, y, z] in metres, each a number or [low, high]");
    }
    std::array<Range, 3> ranges;
    for (std::size_t axis = 0; axis < 3; ++axis) {
        ranges[axis] = range_of(value[axis], fmt::format("{}[{}]", place_of(key), axis), -1e4, 1e4);
    }
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
    const auto* value = find(key);
    if (!value) return std::nullopt;
    return PlanReader(*value, file_, place_of(key));
}

void PlanReader::objects(const char* key, const std::function<void(PlanReader&)>& each) {
    const auto* value = find(key);
    if (!value) return;
    if (!value->is_array()) fail(key, "not a list", "write [...]");
    for (std::size_t i = 0; i < value->size(); ++i) {
        PlanReader reader((*value)[i], file_, fmt::format("{}[{}]", place_of(key), i));
        each(reader);
        reader.finish();
    }
}

void PlanReader::finish() const {
    for (const auto& [key, value] : node_->items()) {
        if (std::find(known_.begin(), known_.end(), key) != known_.end()) continue;
        throw_input(file_, place_of(key), "unknown key",
                    fmt::format("did you mean \"{}\"?", nearest_word(key, known_)));
    }
}

} // namespace lull
