// SPDX-License-Identifier: GPL-3.0-or-later
#include "recording/audio_file.hpp"

#include "error.hpp"
#include "recording/header.hpp"

#include <fmt/format.h>
#include <sndfile.h>

#include <cerrno>
#include <cstring>
#include <fcntl.h>
#include <filesystem>
#include <mutex>
#include <sys/stat.h>
#include <unistd.h>
#include <utility>
#include <vector>

namespace lull {
namespace {

/// libsndfile keeps the reason of a failed open in a process-wide place.
std::mutex& open_mutex() {
    static std::mutex mutex;
    return mutex;
}

std::string format_name(int format) {
    SF_FORMAT_INFO major{}, subtype{};
    major.format = format & SF_FORMAT_TYPEMASK;
    subtype.format = format & SF_FORMAT_SUBMASK;
    sf_command(nullptr, SFC_GET_FORMAT_INFO, &major, sizeof major);
    sf_command(nullptr, SFC_GET_FORMAT_INFO, &subtype, sizeof subtype);
    return fmt::format("{}, {}", major.name ? major.name : "unknown", subtype.name ? subtype.name : "unknown");
}

std::string fixed_text(const char* field, std::size_t size) { return {field, strnlen(field, size)}; }

} // namespace

FileHandle::~FileHandle() { ::close(descriptor_); }

/// The file seen through pread, so that a spooled descriptor can be shared by threads.
struct AudioFile::Source {
    std::shared_ptr<FileHandle> handle;
    std::int64_t size = 0, at = 0;
    SNDFILE* file = nullptr;

    ~Source() {
        if (file != nullptr) sf_close(file);
    }
    std::size_t read_at(std::int64_t offset, void* into, std::size_t count) const {
        std::size_t done = 0;
        while (done < count) {
            const ssize_t got = ::pread(handle->descriptor(), static_cast<char*>(into) + done, count - done,
                                        offset + static_cast<std::int64_t>(done));
            if (got < 0 && errno == EINTR) continue;
            if (got <= 0) break;
            done += static_cast<std::size_t>(got);
        }
        return done;
    }
    static sf_count_t length(void* user) { return static_cast<Source*>(user)->size; }
    static sf_count_t seek(sf_count_t offset, int whence, void* user) {
        auto* self = static_cast<Source*>(user);
        const std::int64_t base = whence == SEEK_SET ? 0 : whence == SEEK_CUR ? self->at : self->size;
        return self->at = base + offset;
    }
    static sf_count_t read(void* into, sf_count_t count, void* user) {
        auto* self = static_cast<Source*>(user);
        if (self->at < 0 || count < 0) return 0;
        const auto got = static_cast<sf_count_t>(self->read_at(self->at, into, static_cast<std::size_t>(count)));
        self->at += got;
        return got;
    }
    static sf_count_t write(const void*, sf_count_t, void*) { return 0; }
    static sf_count_t tell(void* user) { return static_cast<Source*>(user)->at; }
};

AudioFile::AudioFile(std::string path, std::shared_ptr<FileHandle> spooled)
    : path_(std::move(path)), source_(std::make_unique<Source>()) {
    std::error_code ignored;
    if (!spooled && std::filesystem::is_directory(path_, ignored))
        throw_input(path_, "", "is a folder", "give an audio file or a session file");
    if (!spooled) {
        const int descriptor = ::open(path_.c_str(), O_RDONLY | O_CLOEXEC);
        if (descriptor < 0) throw_input(path_, "", std::strerror(errno), "");
        spooled = std::make_shared<FileHandle>(descriptor);
    }
    source_->handle = std::move(spooled);
    struct stat status{};
    if (::fstat(source_->handle->descriptor(), &status) != 0) throw_input(path_, "", std::strerror(errno), "");
    if (!S_ISREG(status.st_mode))
        throw_input(path_, "", "is not a file that can be read from any place", "give - to read standard input");
    source_->size = info_.bytes = status.st_size;
    SF_VIRTUAL_IO io{&Source::length, &Source::seek, &Source::read, &Source::write, &Source::tell};
    SF_INFO info{};
    std::string reason;
    {
        const std::scoped_lock lock(open_mutex());
        source_->file = sf_open_virtual(&io, SFM_READ, &info, source_.get());
        if (source_->file == nullptr) reason = sf_strerror(nullptr);
    }
    if (source_->file == nullptr) {
        while (!reason.empty() && (reason.back() == '.' || reason.back() == ' ')) reason.pop_back();
        throw_input(path_, "", "cannot be read as audio (" + reason + ")", "give a whole audio file");
    }
    info_.rate_hz = info.samplerate;
    info_.tracks = info.channels;
    info_.format_code = info.format;
    info_.format = format_name(info.format);
    info_.frames = info.frames;
    if (info_.tracks < 1 || info_.tracks > most_tracks)
        throw_input(path_, "", fmt::format("has {} channels", info_.tracks), fmt::format("give 1 to {}", most_tracks));
    if (info_.rate_hz < lowest_rate_hz || info_.rate_hz > highest_rate_hz)
        throw_input(path_, "", fmt::format("has a rate of {:g} Hz", info_.rate_hz),
                    fmt::format("give {:g} to {:g} Hz", lowest_rate_hz, highest_rate_hz));
}

AudioFile::~AudioFile() = default;

void AudioFile::measure() {
    const HeaderPromise promise = header_promise(
        [this](std::int64_t offset, std::span<unsigned char> into) {
            return source_->read_at(offset, into.data(), into.size());
        },
        source_->size);
    info_.frames_promised = promise.frames;
    info_.open_ended = promise.open_ended;
    const int container = info_.format_code & SF_FORMAT_TYPEMASK;
    const bool compressed = container == SF_FORMAT_FLAC || container == SF_FORMAT_OGG || container == SF_FORMAT_MPEG;
    // A compressed file's count is only a promise: decoding near its end tells whether it is kept.
    std::vector<float> probe(static_cast<std::size_t>(info_.tracks) * 4096);
    const bool doubtful = info_.frames <= 0 || info_.frames > std::numeric_limits<std::int64_t>::max() / 4096 ||
                          (compressed && read(info_.frames - 1, {probe.data(), static_cast<std::size_t>(info_.tracks)}) != 1);
    if (doubtful && (compressed || info_.frames > 0)) {
        Frame counted = 0;
        while (const Frame got = read(counted, probe)) counted += got;
        info_.frames = counted;
    }
    if (info_.frames <= 0) throw_input(path_, "", "holds 0 frames", "give a recording with samples in it");
    const auto tail_cut = [this] { // samples after the last whole frame
        return info_.frames_promised && *info_.frames_promised > info_.frames;
    };
    info_.cut_short = tail_cut();
    SF_BROADCAST_INFO chunk{};
    if (sf_command(source_->file, SFC_GET_BROADCAST_INFO, &chunk, sizeof chunk) == SF_TRUE)
        info_.broadcast = BroadcastChunk{
            fixed_text(chunk.description, sizeof chunk.description),
            fixed_text(chunk.origination_date, sizeof chunk.origination_date),
            fixed_text(chunk.origination_time, sizeof chunk.origination_time),
            std::uint64_t{chunk.time_reference_high} << 32U | chunk.time_reference_low};
}

Frame AudioFile::read(Frame first, std::span<float> into) {
    if (first != at_) {
        if (sf_seek(source_->file, first, SEEK_SET) != first) {
            at_ = -1;
            return 0;
        }
        at_ = first;
    }
    const auto wanted = static_cast<sf_count_t>(into.size()) / info_.tracks;
    const sf_count_t got = sf_readf_float(source_->file, into.data(), wanted);
    if (got < wanted) at_ = -1; // the next read seeks anew
    else at_ += got;
    return got > 0 ? got : 0;
}

std::shared_ptr<FileHandle> spool_standard_input() {
    std::string name = (std::filesystem::temp_directory_path() / "lull-input-XXXXXX").string();
    const int descriptor = ::mkostemp(name.data(), O_CLOEXEC);
    if (descriptor < 0) throw_output(name, std::strerror(errno), "standard input needs room for a temporary file");
    auto handle = std::make_shared<FileHandle>(descriptor);
    ::unlink(name.c_str());
    std::vector<char> buffer(1U << 20U);
    for (;;) {
        const ssize_t got = ::read(STDIN_FILENO, buffer.data(), buffer.size());
        if (got < 0 && errno == EINTR) continue;
        if (got < 0) throw_input("standard input", "", std::strerror(errno), "");
        if (got == 0) return handle;
        for (ssize_t done = 0; done < got;) {
            const ssize_t put = ::write(descriptor, buffer.data() + done, static_cast<std::size_t>(got - done));
            if (put < 0 && errno == EINTR) continue;
            if (put < 0) throw_output("temporary file for standard input", std::strerror(errno), "make room or set TMPDIR");
            done += put;
        }
    }
}

} // namespace lull
