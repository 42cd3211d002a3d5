// SPDX-License-Identifier: GPL-3.0-or-later
//
// IANA zones from the system's time-zone files (TZif, RFC 8536). The C library's own conversion
// depends on a process-wide setting, which threads cannot share.
#include "error.hpp"
#include "recording/start_time.hpp"

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <cstring>
#include <fstream>
#include <iterator>
#include <map>
#include <mutex>
#include <vector>

namespace lull {
namespace {

struct Zone {
    std::vector<std::int64_t> changes_s; ///< UTC, rising
    std::vector<int> offsets_s;          ///< after each change
    int first_offset_s = 0;
    bool goes_on = false; ///< clocks change by a rule after the last listed change
};

std::int64_t big_endian(const char* bytes, int count) {
    std::uint64_t value = (bytes[0] & 0x80) != 0 ? ~std::uint64_t{0} : 0;
    for (int i = 0; i < count; ++i)
        value = value << 8U | static_cast<unsigned char>(bytes[i]);
    return static_cast<std::int64_t>(value);
}

struct Counts {
    std::size_t utc_flags, standard_flags, leaps, changes, types, letters;
};

Counts counts_at(const std::string& data, std::size_t at) {
    std::size_t n[6];
    for (std::size_t i = 0; i < 6; ++i)
        n[i] = static_cast<std::size_t>(
            std::max<std::int64_t>(0, big_endian(data.data() + at + 20 + 4 * i, 4)));
    return {n[0], n[1], n[2], n[3], n[4], n[5]};
}

std::size_t body_size(const Counts& n, std::size_t time_bytes) {
    return n.changes * (time_bytes + 1) + n.types * 6 + n.letters + n.leaps * (time_bytes + 4) +
           n.standard_flags + n.utc_flags;
}

constexpr std::size_t header_bytes = 44;

/// Version 2 and later repeat the data with 64-bit times after the 32-bit ones.
Zone parse(const std::string& data, const std::string& name) {
    const auto refuse = [&name] {
        throw_input("", "time_zone", "the system's data for \"" + name + "\" cannot be read",
                    "give an offset");
    };
    if (data.size() < header_bytes || data.compare(0, 4, "TZif") != 0 || data[4] < '2') refuse();
    const std::size_t second = header_bytes + body_size(counts_at(data, 0), 4);
    if (data.size() < second + header_bytes) refuse();
    const Counts n = counts_at(data, second);
    const std::size_t body = second + header_bytes;
    if (data.size() < body + body_size(n, 8) || n.types == 0) refuse();
    const char* times = data.data() + body;
    const char* indices = times + 8 * n.changes;
    const char* types = indices + n.changes;
    Zone zone;
    zone.first_offset_s = static_cast<int>(big_endian(types, 4));
    for (std::size_t i = 0; i < n.changes; ++i) {
        const auto type = static_cast<unsigned char>(indices[i]);
        if (type >= n.types) refuse();
        zone.changes_s.push_back(big_endian(times + 8 * i, 8));
        zone.offsets_s.push_back(static_cast<int>(big_endian(types + std::size_t{6} * type, 4)));
    }
    // The last line has the rule for times after the list; a rule with a comma changes clocks. The
    // rule is not evaluated here, since Debian's files list the changes up to 2037.
    const std::size_t rule = body + body_size(n, 8);
    zone.goes_on = data.find(',', rule) != std::string::npos;
    return zone;
}

Zone load(const std::string& name) {
    const bool plausible =
        !name.empty() && name.find("..") == std::string::npos && name.front() != '/' &&
        name.find_first_not_of("ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz"
                               "0123456789/_+-") == std::string::npos;
    std::ifstream file;
    if (plausible) file.open("/usr/share/zoneinfo/" + name, std::ios::binary);
    if (!plausible || !file)
        throw_input("", "time_zone", "\"" + name + "\" is not a zone that this machine knows",
                    "give an offset as +01:00, or an IANA name");
    return parse({std::istreambuf_iterator<char>(file), {}}, name);
}

} // namespace

int zone_offset_s(const std::string& zone_name, double utc_s) {
    static std::mutex mutex;
    static std::map<std::string, Zone> zones;
    const std::scoped_lock lock(mutex);
    auto place = zones.find(zone_name);
    if (place == zones.end()) place = zones.emplace(zone_name, load(zone_name)).first;
    const Zone& zone = place->second;
    const auto after =
        std::ranges::upper_bound(zone.changes_s, static_cast<std::int64_t>(std::floor(utc_s)));
    if (after == zone.changes_s.end() && zone.goes_on)
        throw_input("", "time_zone",
                    "the system's data for \"" + zone_name + "\" does not reach this time",
                    "give an offset as +01:00");
    if (after == zone.changes_s.begin()) return zone.first_offset_s;
    return zone.offsets_s[static_cast<std::size_t>(after - zone.changes_s.begin()) - 1];
}

std::vector<double> utc_of_civil(const std::string& zone_name, double civil_s) {
    // No zone is a day from UTC, and no two clock changes lie within two days.
    constexpr double day_s = 86400.0;
    const int before = zone_offset_s(zone_name, civil_s - day_s);
    const int after = zone_offset_s(zone_name, civil_s + day_s);
    std::vector<double> found;
    for (const int offset : {before, after}) {
        const double utc_s = civil_s - offset;
        const bool shown = zone_offset_s(zone_name, utc_s) == offset;
        if (shown && (found.empty() || found.front() != utc_s)) found.push_back(utc_s);
    }
    return found;
}

} // namespace lull
