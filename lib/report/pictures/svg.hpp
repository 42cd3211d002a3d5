// SPDX-License-Identifier: GPL-3.0-or-later
//
// A drawing as SVG 1.1: black on white, with distinctions by shape and hatching, not by colour.
#pragma once

#include <span>
#include <string>
#include <string_view>
#include <utility>

namespace lull {

/// Signs for marks on a picture, distinguished by outline.
enum class Sign { square, ring, flag, cross };

enum class TextAnchor { start, middle, end };

class Svg {
  public:
    /// \param width, height  in pixels, > 0
    /// \param title          what the picture shows, for screen readers
    Svg(double width, double height, std::string_view title);

    void line(double x1, double y1, double x2, double y2, double stroke = 1.0,
              std::string_view dashes = {});
    void polyline(std::span<const std::pair<double, double>> points, double stroke = 1.0);
    /// Hatched with slanting lines. \param note  shown when pointed at
    void hatched(double x, double y, double width, double height, std::string_view note);
    void dot(double x, double y, double radius);
    void sign(Sign sign, double x, double y, double size, std::string_view note);
    /// A line along an SVG path of relative moves, from (x, y) on
    void path(double x, double y, std::string_view moves, double stroke = 1.0);
    /// A PNG, stretched to the rectangle
    void image(double x, double y, double width, double height, const std::string& png);
    /// One more attribute of the <svg> element: name and value for scripts
    void attribute(std::string_view name, std::string_view value);
    void text(double x, double y, std::string_view text, TextAnchor anchor = TextAnchor::start,
              double size = 11.0);
    /// The same with a white rim, which separates it from lines under it.
    void label(double x, double y, std::string_view text, TextAnchor anchor = TextAnchor::start,
               double size = 11.0);

    /// The whole document: an <svg> element that stands alone or in a page.
    [[nodiscard]] std::string finish() const;

  private:
    void add_text(double x, double y, std::string_view text, TextAnchor anchor, double size,
                  std::string_view more);
    std::string body_, attributes_;
    double width_, height_;
    std::string title_;
};

} // namespace lull
