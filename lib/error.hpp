// SPDX-License-Identifier: GPL-3.0-or-later
//
// The errors of lull. The library throws; only command/ turns them into a line and a status.
#pragma once

#include <stdexcept>
#include <string>

namespace lull {

/// What went wrong decides the exit status of a tool (see README.md, exit status).
enum class ErrorKind {
    usage,  ///< the command line asks for something impossible: status 2
    input,  ///< no input can be used: status 3
    output, ///< a result could not be written, or an internal failure: status 1
};

/// One fault, told in the parts of which the one-line message is made:
/// `tool: file: place: what; mend`. Empty parts are left out.
class Error : public std::runtime_error {
  public:
    /// \param kind   decides the exit status
    /// \param file   the file concerned, as the user wrote it; may be empty
    /// \param place  where in it: "line 7, onset_s", "byte 40", "channels[2].track"; may be empty
    /// \param what   what is wrong, with the system's reason where there is one
    /// \param mend   what would be right; may be empty
    Error(ErrorKind kind, std::string file, std::string place, std::string what, std::string mend);

    ErrorKind kind;
    std::string file;
    std::string place;
    std::string fault;
    std::string mend;
};

[[noreturn]] void throw_usage(std::string what, std::string mend);
[[noreturn]] void throw_input(std::string file, std::string place, std::string what,
                              std::string mend);
[[noreturn]] void throw_output(std::string file, std::string what, std::string mend);

} // namespace lull
