// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/pictures/svg.hpp"

#include "report/pictures/png.hpp"
#include "report/pictures/text.hpp"

#include <fmt/format.h>

#include <iterator>

namespace lull {
namespace {

std::string titled(std::string_view note) {
    return note.empty() ? std::string() : "<title>" + escape_markup(note) + "</title>";
}

} // namespace

Svg::Svg(double width, double height, std::string_view title)
    : width_(width), height_(height), title_(escape_markup(title)) {}

void Svg::line(double x1, double y1, double x2, double y2, double stroke, std::string_view dashes) {
    fmt::format_to(std::back_inserter(body_),
                   "<line x1=\"{:.1f}\" y1=\"{:.1f}\" x2=\"{:.1f}\" y2=\"{:.1f}\" stroke=\"#111\" "
                   "stroke-width=\"{:.1f}\"",
                   x1, y1, x2, y2, stroke);
    if (!dashes.empty()) body_ += fmt::format(" stroke-dasharray=\"{}\"", escape_markup(dashes));
    body_ += "/>\n";
}

void Svg::polyline(std::span<const std::pair<double, double>> points, double stroke) {
    if (points.size() < 2) return;
    body_ += fmt::format(
        "<polyline fill=\"none\" stroke=\"#111\" stroke-width=\"{:.1f}\" points=\"", stroke);
    for (const auto& [x, y] : points)
        fmt::format_to(std::back_inserter(body_), "{:.1f},{:.1f} ", x, y);
    body_.back() = '"';
    body_ += "/>\n";
}

void Svg::hatched(double x, double y, double width, double height, std::string_view note) {
    body_ += fmt::format("<rect x=\"{:.1f}\" y=\"{:.1f}\" width=\"{:.1f}\" height=\"{:.1f}\" "
                         "fill=\"url(#hatch)\">{}</rect>\n",
                         x, y, width, height, titled(note));
}

void Svg::path(double x, double y, std::string_view moves, double stroke) {
    fmt::format_to(std::back_inserter(body_),
                   "<path fill=\"none\" stroke=\"#111\" stroke-width=\"{:.1f}\" d=\"M{:.1f} "
                   "{:.1f}{}\"/>\n",
                   stroke, x, y, escape_markup(moves));
}

void Svg::image(double x, double y, double width, double height, const std::string& png) {
    fmt::format_to(std::back_inserter(body_),
                   "<image x=\"{:.1f}\" y=\"{:.1f}\" width=\"{:.1f}\" height=\"{:.1f}\" "
                   "preserveAspectRatio=\"none\" href=\"data:image/png;base64,{}\"/>\n",
                   x, y, width, height, to_base64(png));
}

void Svg::attribute(std::string_view name, std::string_view value) {
    attributes_ += fmt::format(" {}=\"{}\"", name, escape_markup(value));
}

void Svg::dot(double x, double y, double radius) {
    body_ += fmt::format("<circle cx=\"{:.1f}\" cy=\"{:.1f}\" r=\"{:.1f}\" fill=\"#111\"/>\n", x, y,
                         radius);
}

void Svg::sign(Sign sign, double x, double y, double size, std::string_view note) {
    const double h = size / 2.0;
    std::string shape;
    switch (sign) {
    case Sign::square:
        shape = fmt::format("M{:.1f} {:.1f}h{:.1f}v{:.1f}h{:.1f}z\" fill=\"#111", x - h, y - h,
                            size, size, -size);
        break;
    case Sign::ring:
        shape =
            fmt::format("M{0:.1f} {1:.1f}a{2:.1f} {2:.1f} 0 1 0 {3:.1f} 0a{2:.1f} {2:.1f} 0 1 0 "
                        "{4:.1f} 0z\" fill=\"#fff",
                        x - h, y, h, size, -size);
        break;
    case Sign::flag:
        shape = fmt::format("M{:.1f} {:.1f}v{:.1f}l{:.1f} {:.1f}l{:.1f} {:.1f}\" fill=\"#999",
                            x - h, y + h, -size, size, h / 2.0, -size, h);
        break;
    case Sign::cross:
        shape = fmt::format("M{:.1f} {:.1f}v{:.1f}M{:.1f} {:.1f}h{:.1f}\" fill=\"none", x, y - h,
                            size, x - h, y, size);
        break;
    }
    body_ += "<path stroke=\"#111\" stroke-width=\"1.4\" d=\"" + shape + "\">" + titled(note) +
             "</path>\n";
}

void Svg::text(double x, double y, std::string_view text, TextAnchor anchor, double size) {
    add_text(x, y, text, anchor, size, "");
}

void Svg::label(double x, double y, std::string_view text, TextAnchor anchor, double size) {
    add_text(
        x, y, text, anchor, size,
        " stroke=\"#fff\" stroke-width=\"3\" stroke-linejoin=\"round\" paint-order=\"stroke\"");
}

void Svg::add_text(double x, double y, std::string_view text, TextAnchor anchor, double size,
                   std::string_view more) {
    constexpr const char* anchors[] = {"start", "middle", "end"};
    body_ +=
        fmt::format("<text x=\"{:.1f}\" y=\"{:.1f}\" font-size=\"{:.0f}\" text-anchor=\"{}\"{}>", x,
                    y, size, anchors[static_cast<int>(anchor)], more) +
        escape_markup(text) + "</text>\n";
}

std::string Svg::finish() const {
    // An identifier may occur once only in a page with many pictures.
    const bool hatches = body_.find("url(#hatch)") != std::string::npos;
    const std::string pattern =
        hatches
            ? "<defs><pattern id=\"hatch\" width=\"6\" height=\"6\" "
              "patternUnits=\"userSpaceOnUse\" patternTransform=\"rotate(45)\"><line x1=\"0\" "
              "y1=\"0\" x2=\"0\" y2=\"6\" stroke=\"#777\" stroke-width=\"1\"/></pattern></defs>\n"
            : "";
    return fmt::format("<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {0:.0f} {1:.0f}\" "
                       "width=\"{0:.0f}\" height=\"{1:.0f}\" role=\"img\" "
                       "font-family=\"sans-serif\" fill=\"#111\"{5}>\n<title>{2}</title>\n{3}"
                       "<rect width=\"100%\" height=\"100%\" fill=\"#fff\"/>\n{4}</svg>\n",
                       width_, height_, title_, pattern, body_, attributes_);
}

} // namespace lull
