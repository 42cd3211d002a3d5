// SPDX-License-Identifier: GPL-3.0-or-later
#include "review/unit_store.hpp"

#include "error.hpp"
#include "recording/digest.hpp"
#include "review/internal/unit_check.hpp"
#include "review/internal/unit_form.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cerrno>
#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <cstring>
#include <fcntl.h>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <string_view>
#include <sys/stat.h>
#include <unistd.h>
#include <utility>

namespace lull {
namespace {

namespace fs = std::filesystem;

constexpr std::string_view magic = "lull unit of work\n";
constexpr std::size_t digest_digits = 64;
constexpr std::uintmax_t largest_unit_bytes = std::uintmax_t{1} << 30U;
/// What follows the run-out may still be looked at, by what goes on past it.
constexpr double look_ahead_s = 60.0;

std::string settings_text(const Recording& recording, const Settings& settings,
                          const Wanted& wanted, const std::string& program) {
    std::string text = fmt::format("{} {} {}\n", unit_form_version, LULL_VERSION, program);
    text += fmt::format("{:a} {:a} {:a} {} {} {:a}\n", recording.rate_hz, settings.band.low_hz,
                        settings.band.high_hz, settings.from, settings.to,
                        settings.every_s.value_or(0.0));
    text += fmt::format("{} {} {} {}\n", wanted.health, wanted.noise, wanted.quiet, wanted.events);
    for (const Channel& channel : recording.channels)
        text +=
            fmt::format("{} {} {} {} {}\n", name_of(channel.kind), channel.recording.value_or(0),
                        channel.track, channel.polarity, channel.name);
    if (!recording.session.path.empty()) text += sha256_of_file(recording.session.path);
    return text;
}

/// Empty for what is no file of a size that a unit can have: a pipe would never end.
std::string file_bytes(const std::string& path) {
    std::error_code fault;
    if (!fs::is_regular_file(path, fault) || fs::file_size(path, fault) > largest_unit_bytes)
        return {};
    std::ifstream stream(path, std::ios::binary);
    return {std::istreambuf_iterator<char>(stream), {}};
}

/// Not forced to the disk: after a crash of the machine the digest tells what did not get there.
/// The temporary name is nobody else's, on this machine or another that shares the folder.
void write_whole(const std::string& path, const std::string& bytes) {
    std::string part = path + ".part-XXXXXX";
    const int descriptor = ::mkostemp(part.data(), O_CLOEXEC);
    if (descriptor < 0) throw_output(path, std::strerror(errno), "");
    std::FILE* file = ::fdopen(descriptor, "wb");
    if (file == nullptr) {
        const int reason = errno;
        ::close(descriptor);
        std::remove(part.c_str());
        throw_output(path, std::strerror(reason), "");
    }
    ::fchmod(descriptor, 0644);
    bool written = std::fwrite(bytes.data(), 1, bytes.size(), file) == bytes.size();
    int reason = errno;
    if (std::fclose(file) != 0 && written) {
        written = false;
        reason = errno;
    }
    if (written && std::rename(part.c_str(), path.c_str()) == 0) return;
    if (written) reason = errno;
    std::remove(part.c_str());
    throw_output(path, std::strerror(reason), "");
}

} // namespace

std::vector<std::string> identities_of(const Recording& recording) {
    std::vector<std::string> all;
    for (const InputFile& input : recording.inputs) {
        struct stat file = {};
        const bool named = ::stat(input.path.c_str(), &file) == 0;
        all.push_back(!named ? ""
                             : fmt::format("{} {} {} {}.{} {}.{}", file.st_dev, file.st_ino,
                                           file.st_size, file.st_mtim.tv_sec, file.st_mtim.tv_nsec,
                                           file.st_ctim.tv_sec, file.st_ctim.tv_nsec));
    }
    return all;
}

std::vector<std::string> contents_of(const Recording& recording) {
    std::vector<std::string> all;
    for (const InputFile& input : recording.inputs)
        all.push_back(input.sha256.empty() ? "" : fmt::format("{} {}", input.bytes, input.sha256));
    return all;
}

bool depends_on(const Recording& recording, const Unit& unit, std::size_t input) {
    const auto ahead = static_cast<Frame>(std::ceil(look_ahead_s * recording.rate_hz));
    const InputFile& file = recording.inputs[input];
    return file.first < unit.read_end + ahead && file.first + file.frames > unit.read_begin - ahead;
}

std::string unit_file_name(int number) {
    return fmt::format("unit-{:06}", number);
}

UnitStore::UnitStore(const Recording& recording, const Settings& settings, const Wanted& wanted,
                     const std::string& program, std::vector<std::string> identities)
    : recording_(&recording), settings_key_(settings_text(recording, settings, wanted, program)),
      identities_(std::move(identities)),
      check_(std::make_shared<const UnitCheck>(recording, settings, wanted)) {}

bool UnitStore::knows_inputs() const {
    return std::ranges::none_of(identities_, [](const auto& text) { return text.empty(); });
}

std::string UnitStore::key_of(const Unit& unit) const {
    const auto ahead = static_cast<Frame>(std::ceil(look_ahead_s * recording_->rate_hz));
    std::string text = settings_key_;
    text += fmt::format("\n{} {} {} {} {} {}\n", unit.number, unit.core_begin, unit.core_end,
                        unit.read_begin, unit.read_end,
                        std::min(recording_->frames, unit.read_end + ahead));
    for (std::size_t i = 0; i < recording_->inputs.size(); ++i) {
        if (!depends_on(*recording_, unit, i)) continue;
        if (identities_[i].empty()) return "";
        const InputFile& input = recording_->inputs[i];
        text += fmt::format("{} {} {}\n", input.first, input.frames, identities_[i]);
    }
    return sha256_of_text(text);
}

std::optional<UnitResult> UnitStore::find(const std::string& folder, const Unit& unit) const {
    const std::string bytes = file_bytes((fs::path(folder) / unit_file_name(unit.number)).string());
    const std::size_t head = magic.size() + digest_digits;
    if (bytes.size() < head + digest_digits || !bytes.starts_with(magic)) return std::nullopt;
    const std::string_view all = bytes;
    const std::string_view body = all.substr(head, all.size() - head - digest_digits);
    if (all.substr(magic.size(), digest_digits) != key_of(unit) ||
        all.substr(all.size() - digest_digits) != sha256_of_text(body))
        return std::nullopt;
    try {
        UnitResult result = unit_of_bytes(body);
        if (!check_->passes(result, unit)) return std::nullopt;
        return result;
    } catch (const std::runtime_error&) { // not what was written: done anew
        return std::nullopt;
    }
}

void UnitStore::keep(const std::string& folder, const Unit& unit, const UnitResult& result) const {
    const std::string key = key_of(unit);
    if (key.empty()) return;
    std::error_code fault;
    fs::create_directory(folder, fault);
    if (fault) throw_output(folder, fault.message(), "");
    const std::string body = bytes_of_unit(result);
    write_whole((fs::path(folder) / unit_file_name(unit.number)).string(),
                std::string(magic) + key + body + sha256_of_text(body));
}

} // namespace lull
