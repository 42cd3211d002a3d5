// SPDX-License-Identifier: GPL-3.0-or-later
#include "synthesis/random.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace lull {

double Random::between_log(double low, double high) {
    return low * std::pow(high / low, uniform());
}

int Random::whole(int low, int high) {
    const auto span = static_cast<double>(high - low + 1);
    return low + std::min(high - low, static_cast<int>(uniform() * span));
}

double Random::normal() {
    const double radius = std::sqrt(-2.0 * std::log(1.0 - uniform()));
    return radius * std::cos(2.0 * std::numbers::pi * uniform());
}

Random Random::child(std::uint64_t n) const {
    // A constant other than the sequence's own step keeps children off their parent's numbers.
    return Random(
        scramble(scramble(key_ ^ 0xd1b54a32d192ed03ULL) + (n + 1) * 0x8cb92ba72f3d8dd7ULL));
}

Random Random::child(std::string_view name) const {
    std::uint64_t hash = 0xcbf29ce484222325ULL; // FNV-1a
    for (const char letter : name) {
        hash = (hash ^ static_cast<unsigned char>(letter)) * 0x100000001b3ULL;
    }
    return child(hash);
}

} // namespace lull
