// SPDX-License-Identifier: GPL-3.0-or-later
//
// Boosted trees: log odds from measured features, where a sum of products does not do.
#pragma once

#include <cstddef>
#include <cstdint>
#include <span>

namespace lull {

/// A node of a tree, in the order that a node comes before what lies below it.
struct ForestNode {
    std::int8_t feature = -1; ///< that decides; none: a leaf
    std::int8_t above = 0;    ///< nodes to go on by when the feature is above `value`, else one
    float value = 0.0F;       ///< threshold; of a leaf its share of the log odds
};

/// Trees one after another, each added to the log odds [gradient boosting, Friedman 2001].
struct Forest {
    double bias = 0.0;
    std::span<const ForestNode> nodes;
};

[[nodiscard]] inline double log_odds(const Forest& forest, std::span<const double> features) {
    double sum = forest.bias;
    const ForestNode* const end = forest.nodes.data() + forest.nodes.size();
    for (const ForestNode* root = forest.nodes.data(); root != end;) {
        const ForestNode* node = root;
        while (node->feature >= 0)
            node += features[static_cast<std::size_t>(node->feature)] > double{node->value}
                        ? node->above
                        : 1;
        sum += double{node->value};
        // Always above: that way lies a tree's last leaf, and the next tree follows it.
        while (root->feature >= 0)
            root += root->above;
        ++root;
    }
    return sum;
}

} // namespace lull
