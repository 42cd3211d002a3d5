// SPDX-License-Identifier: GPL-3.0-or-later
#include "detect/horns.hpp"

#include "detect/internal/usual_horns.hpp"
#include "recording/digest.hpp"
#include "recording/strict_json.hpp"

#include <fmt/format.h>

namespace lull {
namespace {

constexpr double shortest_blast_s = 0.05, longest_blast_s = 120.0;
constexpr std::size_t most_patterns = 100, most_blasts = 20;
const std::vector<std::string> orders{"quiet", "work", "out", "other"}; ///< as HornOrder

HornPattern read_pattern(const JsonObject& in) {
    in.allow_only({"meaning", "orders", "blasts"});
    HornPattern pattern;
    pattern.meaning = in.text("meaning");
    if (pattern.meaning.empty())
        in.fail("meaning", "is empty", "say in words what the signal orders");
    pattern.order = static_cast<HornOrder>(in.word("orders", orders));
    const std::vector<JsonObject> blasts = in.objects("blasts");
    if (blasts.empty() || blasts.size() > most_blasts)
        in.fail("blasts", fmt::format("{} blasts", blasts.size()),
                fmt::format("give 1 to {}", most_blasts));
    for (const JsonObject& blast : blasts) {
        blast.allow_only({"least_s", "most_s"});
        pattern.blasts.push_back({blast.number("least_s", shortest_blast_s, longest_blast_s),
                                  blast.number("most_s", shortest_blast_s, longest_blast_s)});
        if (pattern.blasts.back().most_s < pattern.blasts.back().least_s)
            blast.fail("most_s", "is less than least_s", "give the shorter length as least_s");
    }
    return pattern;
}

HornRules read_rules(const nlohmann::json& json, const std::string& path) {
    const JsonObject in(json, path, "");
    in.allow_only({"format", "version", "longest_gap_s", "patterns"});
    (void)in.word("format", {"lull-horn-patterns"});
    (void)in.whole("version", 1, 1);
    HornRules rules;
    if (in.has("longest_gap_s")) rules.longest_gap_s = in.number("longest_gap_s", 0.1, 30.0);
    const std::vector<JsonObject> patterns = in.objects("patterns");
    if (patterns.empty() || patterns.size() > most_patterns)
        in.fail("patterns", fmt::format("{} patterns", patterns.size()),
                fmt::format("give 1 to {}", most_patterns));
    for (const JsonObject& pattern : patterns)
        rules.patterns.push_back(read_pattern(pattern));
    rules.digest = sha256_of_text(json.dump());
    return rules;
}

} // namespace

HornRules load_horn_rules(const std::string& path) {
    return read_rules(load_json(path), path);
}

const HornRules& usual_horn_rules() {
    static const HornRules usual = [] {
        const std::string name = "horn-patterns.json";
        HornRules rules = read_rules(parse_json(std::string(usual_horns_text()), name), name);
        rules.digest.clear();
        return rules;
    }();
    return usual;
}

} // namespace lull
