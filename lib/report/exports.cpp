// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/exports.hpp"

#include "report/caution.hpp"
#include "report/pictures/text.hpp"

#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include <algorithm>
#include <cmath>

namespace lull {
namespace {

using Json = nlohmann::ordered_json;

/// One line, without tabs.
std::string plain(std::string text) {
    std::ranges::replace_if(
        text, [](char c) { return static_cast<unsigned char>(c) < 0x20 || c == 0x7f; }, ' ');
    return valid_utf8(text);
}

double in_centimetres(double metres) {
    return std::round(metres * 100.0) / 100.0;
}

/// A linear ring repeats its first point at the end (RFC 7946, 3.1.6).
Json ring_of(const Ring& ring) {
    Json points = Json::array();
    for (std::size_t i = 0; i <= ring.size() && !ring.empty(); ++i) {
        const auto& point = ring[i % ring.size()];
        points.push_back({in_centimetres(point[0]), in_centimetres(point[1])});
    }
    return points;
}

Json area_of(const std::vector<Outline>& outlines) {
    Json polygons = Json::array();
    for (const Outline& outline : outlines) {
        Json rings = Json::array({ring_of(outline.outer)});
        for (const Ring& hole : outline.holes)
            rings.push_back(ring_of(hole));
        polygons.push_back(std::move(rings));
    }
    return {{"type", "MultiPolygon"}, {"coordinates", polygons}};
}

Json feature(const NamedPlace& named, const char* what, Json geometry) {
    return {{"type", "Feature"},
            {"properties",
             {{"source", named.name}, {"what", what}, {"shape", name_of(named.place.shape)}}},
            {"geometry", std::move(geometry)}};
}

} // namespace

std::string find_labels(const Account& account) {
    std::vector<const Find*> finds;
    for (const Find& find : account.finds)
        finds.push_back(&find);
    std::ranges::stable_sort(finds, {}, [](const Find* find) { return find->from_s; });
    std::string lines;
    for (const Find* find : finds)
        lines += fmt::format(
            "{:.6f}\t{:.6f}\t{} {} {:.2f} {}\n", find->from_s, find->to_s, find->number,
            name_of(find->kind), find->confidence,
            plain(account.recording().channels[static_cast<std::size_t>(find->channel)].name));
    return lines;
}

std::string places_geojson(const Account& account) {
    Json document = {{"type", "FeatureCollection"},
                     {"caution", caution_text},
                     {"coordinates", "metres in the frame of the site: x, y"},
                     {"features", Json::array()}};
    for (const NamedPlace& named : account.places) {
        const Place& place = named.place;
        if (!place.outline90.empty())
            document["features"].push_back(feature(named, "90 %", area_of(place.outline90)));
        if (place.x_m && place.y_m)
            document["features"].push_back(feature(
                named, "best point",
                {{"type", "Point"},
                 {"coordinates", {in_centimetres(*place.x_m), in_centimetres(*place.y_m)}}}));
    }
    return document.dump(1, ' ', false, Json::error_handler_t::replace) + "\n";
}

} // namespace lull
