// SPDX-License-Identifier: GPL-3.0-or-later
#include "error.hpp"

#include <utility>

namespace lull {
namespace {

std::string line_of(const std::string& file, const std::string& place, const std::string& what,
                    const std::string& mend) {
    std::string line;
    if (!file.empty()) line += file + ": ";
    if (!place.empty()) line += place + ": ";
    line += what;
    if (!mend.empty()) line += "; " + mend;
    return line;
}

} // namespace

Error::Error(ErrorKind error_kind, std::string file_name, std::string in_place, std::string what,
             std::string how_to_mend)
    : std::runtime_error(line_of(file_name, in_place, what, how_to_mend)), kind(error_kind),
      file(std::move(file_name)), place(std::move(in_place)), fault(std::move(what)),
      mend(std::move(how_to_mend)) {}

void throw_usage(std::string what, std::string mend) {
    throw Error(ErrorKind::usage, "", "", std::move(what), std::move(mend));
}

void throw_input(std::string file, std::string place, std::string what, std::string mend) {
    throw Error(ErrorKind::input, std::move(file), std::move(place), std::move(what),
                std::move(mend));
}

void throw_output(std::string file, std::string what, std::string mend) {
    throw Error(ErrorKind::output, std::move(file), "", std::move(what), std::move(mend));
}

} // namespace lull
