// SPDX-License-Identifier: GPL-3.0-or-later
#include "locate/posterior.hpp"

#include "locate/grid_cells.hpp"

#include <algorithm>
#include <cmath>
#include <queue>

namespace lull {
namespace {

constexpr std::array<int, 4> first_pieces{12, 12, 2, 6};
constexpr double enough_blur = 0.15;  ///< share of the noise's variance
constexpr double enough_sharp = 0.01; ///< probability that boxes with more blur may hold in the end
constexpr int look_every = 256;       ///< boxes between checks

struct Piece {
    Box box;
    double log_mass = 0.0;
    double blur = 0.0;
    std::size_t widest = 0; ///< the unknown with the largest blur

    [[nodiscard]] double urgency() const { return log_mass + std::log(blur); }
};

/// ln of the prior density, without a constant.
double log_prior(const SearchSpace& space, const Medium& medium, const Box& box) {
    const bool in_grid = !space.grid || cell_at(*space.grid, box.centre[0], box.centre[1]);
    const bool in_range = box.centre[3] >= std::log(medium.lowest_m_s) &&
                          box.centre[3] <= std::log(medium.highest_m_s);
    return (in_grid ? 0.0 : std::log(beside_grid)) +
           (in_range || medium.beyond_factor <= 1.0 ? 0.0 : std::log(medium.beyond_density));
}

Piece piece_of(const PlaceLikelihood& likelihood, const SearchSpace& space, const Medium& medium,
               const Box& box, bool has_speed) {
    const BoxLikelihood value = likelihood.at(box);
    Piece piece{box, value.log_density + log_prior(space, medium, box)};
    for (std::size_t d = 0; d < 4; ++d) {
        if (d < 3 || has_speed) piece.log_mass += std::log(box.size[d]);
        if (value.blur[d] > piece.blur) piece.blur = value.blur[d], piece.widest = d;
    }
    return piece;
}

std::vector<Piece> first_boxes(const PlaceLikelihood& likelihood, const SearchSpace& space,
                               const Medium& medium, bool has_speed) {
    Unknowns low{space.low[0], space.low[1], space.low[2],
                 std::log(medium.lowest_m_s / medium.beyond_factor)};
    Unknowns size{space.high[0] - low[0], space.high[1] - low[1], space.high[2] - low[2],
                  has_speed ? std::log(medium.highest_m_s * medium.beyond_factor) - low[3] : 0.0};
    std::array<int, 4> pieces = first_pieces;
    if (!has_speed || size[3] < 1e-9) pieces[3] = 1;
    for (std::size_t d = 0; d < 4; ++d)
        size[d] /= pieces[d];
    std::vector<Piece> found;
    std::array<int, 4> i{};
    for (i[0] = 0; i[0] < pieces[0]; ++i[0])
        for (i[1] = 0; i[1] < pieces[1]; ++i[1])
            for (i[2] = 0; i[2] < pieces[2]; ++i[2])
                for (i[3] = 0; i[3] < pieces[3]; ++i[3]) {
                    Box box{{}, size};
                    for (std::size_t d = 0; d < 4; ++d)
                        box.centre[d] = low[d] + size[d] * (i[d] + 0.5);
                    found.push_back(
                        piece_of(likelihood, space, medium, box, has_speed && size[3] > 1e-9));
                }
    return found;
}

double log_mass_of(const std::vector<Piece>& pieces, bool blurred_alone) {
    double top = -1e300, sum = 0.0;
    for (const Piece& piece : pieces)
        top = std::max(top, piece.log_mass);
    for (const Piece& piece : pieces)
        if (!blurred_alone || piece.blur > enough_blur) sum += std::exp(piece.log_mass - top);
    return top + std::log(std::max(sum, 1e-300));
}

} // namespace

std::vector<Patch> posterior(const PlaceLikelihood& likelihood, const SearchSpace& space,
                             const Medium& medium, int most_boxes) {
    const bool has_speed =
        likelihood.has_structure() && medium.highest_m_s * medium.beyond_factor > medium.lowest_m_s;
    std::vector<Piece> pieces = first_boxes(likelihood, space, medium, has_speed);
    const auto later = [&pieces](std::size_t a, std::size_t b) {
        const double ua = pieces[a].urgency(), ub = pieces[b].urgency();
        return ua != ub ? ua < ub : a > b;
    };
    std::priority_queue<std::size_t, std::vector<std::size_t>, decltype(later)> queue(later);
    for (std::size_t i = 0; i < pieces.size(); ++i)
        if (pieces[i].blur > enough_blur) queue.push(i);
    for (int done = 0; done < most_boxes && !queue.empty(); done += 2) {
        if (done % look_every == 0 &&
            log_mass_of(pieces, true) - log_mass_of(pieces, false) < std::log(enough_sharp))
            break;
        const std::size_t i = queue.top();
        queue.pop();
        const std::size_t d = pieces[i].widest;
        Box half = pieces[i].box;
        half.size[d] *= 0.5;
        half.centre[d] -= 0.5 * half.size[d];
        pieces[i] = piece_of(likelihood, space, medium, half, has_speed);
        half.centre[d] += half.size[d];
        pieces.push_back(piece_of(likelihood, space, medium, half, has_speed));
        for (const std::size_t k : {i, pieces.size() - 1})
            if (pieces[k].blur > enough_blur) queue.push(k);
    }
    const double total = log_mass_of(pieces, false);
    std::vector<Patch> patches;
    for (const Piece& piece : pieces)
        patches.push_back({piece.box, std::exp(piece.log_mass - total)});
    return patches;
}

} // namespace lull
