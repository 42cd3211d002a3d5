// SPDX-License-Identifier: GPL-3.0-or-later
#include "recording/audio_file.hpp"

#include "error.hpp"
#include "recording/header.hpp"
#include "recording/internal/sndfile_lock.hpp"

#include <fmt/format.h>
#include <sndfile.h>

#include <algorithm>
#include <cerrno>
#include <cstring>
#include <fcntl.h>
#include <filesystem>
#include <mutex>
#include <string_view>
#include <sys/stat.h>
#include <unistd.h>
#include <utility>
#include <vector>

namespace lull {
namespace {

/// "WAV (Microsoft)" and "Signed 24 bit PCM" become "WAV, signed 24-bit PCM".
std::string format_name(int format) {
    SF_FORMAT_INFO major{}, subtype{};
    major.format = format & SF_FORMAT_TYPEMASK;
    subtype.format = format & SF_FORMAT_SUBMASK;
    sf_command(nullptr, SFC_GET_FORMAT_INFO, &major, sizeof major);
    sf_command(nullptr, SFC_GET_FORMAT_INFO, &subtype, sizeof subtype);
    std::string kind = major.name != nullptr ? major.name : "unknown";
    std::string samples = subtype.name != nullptr ? subtype.name : "unknown";
    kind = kind.substr(0, kind.find(" ("));
    if (samples.starts_with("Signed ") || samples.starts_with("Unsigned ")) samples[0] |= 0x20;
    if (const std::size_t bit = samples.find(" bit"); bit != std::string::npos) samples[bit] = '-';
    return kind + ", " + samples;
}

bool holds_only_integers(int format) {
    switch (format & SF_FORMAT_SUBMASK) {
    case SF_FORMAT_PCM_S8:
    case SF_FORMAT_PCM_U8:
    case SF_FORMAT_PCM_16:
    case SF_FORMAT_PCM_24:
    case SF_FORMAT_PCM_32:
        return true;
    default:
        return false;
    }
}

/// A file that has no name any more.
std::shared_ptr<FileHandle> temporary_file() {
    std::string name = (std::filesystem::temp_directory_path() / "lull-input-XXXXXX").string();
    const int descriptor = ::mkostemp(name.data(), O_CLOEXEC);
    if (descriptor < 0)
        throw_output(name, std::strerror(errno), "this input needs room for a temporary file");
    ::unlink(name.c_str());
    return std::make_shared<FileHandle>(descriptor);
}

void append(const FileHandle& file, std::string_view bytes) {
    while (!bytes.empty()) {
        const ssize_t put = ::write(file.descriptor(), bytes.data(), bytes.size());
        if (put < 0 && errno == EINTR) continue;
        if (put < 0)
            throw_output("temporary file", std::strerror(errno), "make room there, or set TMPDIR");
        bytes.remove_prefix(static_cast<std::size_t>(put));
    }
}

std::string fixed_text(const char* field, std::size_t size) {
    return {field, strnlen(field, size)};
}

} // namespace

FileHandle::~FileHandle() {
    ::close(descriptor_);
}

/// The file seen through pread, so that a spooled descriptor can be shared by threads.
struct AudioFile::Source {
    std::shared_ptr<FileHandle> handle;
    std::int64_t size = 0, at = 0;
    SNDFILE* file = nullptr;
    bool named = false; ///< opened by its path
    SizeField wrong_size;

    ~Source() {
        if (file != nullptr) sf_close(file);
    }
    std::size_t read_at(std::int64_t offset, void* into, std::size_t count) const {
        std::size_t done = 0;
        while (done < count) {
            const ssize_t got = ::pread(handle->descriptor(), static_cast<char*>(into) + done,
                                        count - done, offset + static_cast<std::int64_t>(done));
            if (got < 0 && errno == EINTR) continue;
            if (got <= 0) break;
            done += static_cast<std::size_t>(got);
        }
        return done;
    }
    /// Puts the right size into the bytes that libsndfile gets to see.
    void mend(std::int64_t offset, unsigned char* bytes, std::int64_t count) const {
        for (int i = 0; i < wrong_size.width; ++i) {
            const std::int64_t place = wrong_size.at + i - offset;
            const int shift = 8 * (wrong_size.big_endian ? wrong_size.width - 1 - i : i);
            if (place >= 0 && place < count)
                bytes[place] = static_cast<unsigned char>(wrong_size.right >> shift);
        }
    }
    static sf_count_t length(void* user) { return static_cast<Source*>(user)->size; }
    static sf_count_t seek(sf_count_t offset, int whence, void* user) {
        auto* self = static_cast<Source*>(user);
        const std::int64_t base = whence == SEEK_SET   ? 0
                                  : whence == SEEK_CUR ? self->at
                                                       : self->size;
        // A header may send the decoder anywhere.
        if (__builtin_add_overflow(base, offset, &self->at)) self->at = self->size;
        return self->at;
    }
    static sf_count_t read(void* into, sf_count_t count, void* user) {
        auto* self = static_cast<Source*>(user);
        if (self->at < 0 || count < 0) return 0;
        const auto got =
            static_cast<sf_count_t>(self->read_at(self->at, into, static_cast<std::size_t>(count)));
        self->mend(self->at, static_cast<unsigned char*>(into), got);
        self->at += got;
        return got;
    }
    static sf_count_t write(const void*, sf_count_t, void*) { return 0; }
    static sf_count_t tell(void* user) { return static_cast<Source*>(user)->at; }

    /// Opens the descriptor, not yet libsndfile.
    Source(const std::string& path, std::shared_ptr<FileHandle> spooled)
        : handle(std::move(spooled)) {
        std::error_code ignored;
        if (!handle && std::filesystem::is_directory(path, ignored))
            throw_input(path, "", "is a folder", "give an audio file or a session file");
        if (!handle) {
            // Without waiting: a pipe among a folder's files may have nobody who writes to it.
            const int descriptor = ::open(path.c_str(), O_RDONLY | O_CLOEXEC | O_NONBLOCK);
            if (descriptor < 0) throw_input(path, "", std::strerror(errno), "");
            handle = std::make_shared<FileHandle>(descriptor);
            named = true;
        }
        struct stat status {};
        if (::fstat(handle->descriptor(), &status) != 0)
            throw_input(path, "", std::strerror(errno), "");
        if (!S_ISREG(status.st_mode))
            throw_input(path, "", "cannot be read from any place", "give - to read standard input");
        size = status.st_size;
        if (size == 0) throw_input(path, "", "is empty", "give a whole audio file");
    }

    HeaderPromise promise() const {
        return header_promise(
            [this](std::int64_t offset, std::span<unsigned char> into) {
                return read_at(offset, into.data(), into.size());
            },
            size);
    }

    SF_INFO open_decoder(const std::string& path) {
        if (file != nullptr) sf_close(std::exchange(file, nullptr));
        at = 0;
        SF_VIRTUAL_IO io{&Source::length, &Source::seek, &Source::read, &Source::write,
                         &Source::tell};
        SF_INFO info{};
        std::string reason;
        {
            const std::scoped_lock lock(sndfile_open_mutex());
            file = sf_open_virtual(&io, SFM_READ, &info, this);
            if (file == nullptr) reason = sf_strerror(nullptr);
            if (file == nullptr && named) { // a few kinds are known by the name alone
                info = {};
                file = sf_open(path.c_str(), SFM_READ, &info);
            }
        }
        if (file != nullptr) return info;
        while (!reason.empty() && (reason.back() == '.' || reason.back() == ' '))
            reason.pop_back();
        throw_input(path, "", "cannot be read as audio (" + reason + ")",
                    "give a whole audio file");
    }
};

namespace {

void check_limits(const AudioInfo& info, const std::string& path) {
    if (info.tracks < 1 || info.tracks > most_tracks)
        throw_input(path, "", fmt::format("has {} channels", info.tracks),
                    fmt::format("give 1 to {}", most_tracks));
    if (info.rate_hz < lowest_rate_hz || info.rate_hz > highest_rate_hz)
        throw_input(path, "", fmt::format("has a rate of {:g} Hz", info.rate_hz),
                    fmt::format("give {:g} to {:g} Hz", lowest_rate_hz, highest_rate_hz));
}

std::optional<BroadcastChunk> broadcast_chunk(SNDFILE* file) {
    SF_BROADCAST_INFO chunk{};
    if (sf_command(file, SFC_GET_BROADCAST_INFO, &chunk, sizeof chunk) != SF_TRUE)
        return std::nullopt;
    return BroadcastChunk{fixed_text(chunk.description, sizeof chunk.description),
                          fixed_text(chunk.origination_date, sizeof chunk.origination_date),
                          fixed_text(chunk.origination_time, sizeof chunk.origination_time),
                          std::uint64_t{chunk.time_reference_high} << 32U |
                              chunk.time_reference_low};
}

/// Whether the last frame that is claimed can be had.
bool has_frame(SNDFILE* file, Frame frame, int tracks) {
    std::vector<float> one(static_cast<std::size_t>(tracks));
    return frame >= 0 && sf_seek(file, frame, SEEK_SET) == frame &&
           sf_readf_float(file, one.data(), 1) == 1;
}

/// Decoders that carry state give other samples after a seek than straight on (measured: libsndfile
/// 1.2.0, Ogg and MPEG), some kinds cannot seek, and PARIS 24-bit is misread unless it is read in
/// whole blocks. Which samples a stretch has must not depend on what was read before it.
bool reads_differently_after_seeking(const SF_INFO& info) {
    const int container = info.format & SF_FORMAT_TYPEMASK,
              subtype = info.format & SF_FORMAT_SUBMASK;
    return info.seekable == 0 || container == SF_FORMAT_OGG || container == SF_FORMAT_MPEG ||
           (container == SF_FORMAT_PAF && subtype == SF_FORMAT_PCM_24);
}

/// Decodes from where the file stands to its end, into a file of floats if there is one.
/// Returns the frames.
Frame decode(SNDFILE* file, int tracks, const FileHandle* into) {
    // libsndfile converts 2048 samples at a time, and misreads PARIS 24-bit where that, or a read,
    // ends within one of its blocks of 10 frames.
    const sf_count_t step = 2048 / tracks / 10 * 10;
    std::vector<float> buffer(static_cast<std::size_t>(tracks * step));
    Frame counted = 0;
    for (sf_count_t got = 0; (got = sf_readf_float(file, buffer.data(), step)) > 0; counted += got)
        if (into != nullptr)
            append(*into, {reinterpret_cast<const char*>(buffer.data()),
                           static_cast<std::size_t>(got * tracks) * sizeof(float)});
    return counted;
}

} // namespace

AudioInfo examine_audio(const std::string& path, const std::shared_ptr<FileHandle>& spooled) {
    AudioFile::Source source(path, spooled);
    const HeaderPromise promise = source.promise();
    source.wrong_size = promise.wrong_size;
    const SF_INFO opened = source.open_decoder(path);
    AudioInfo info;
    info.bytes = source.size;
    info.rate_hz = opened.samplerate;
    info.tracks = opened.channels;
    info.format_code = opened.format;
    info.format = format_name(opened.format);
    info.only_integers = holds_only_integers(opened.format);
    check_limits(info, path);
    info.broadcast = broadcast_chunk(source.file);
    if (const char* comment = sf_get_string(source.file, SF_STR_COMMENT)) info.comment = comment;

    // The claimed count is kept only where its last frame is there; nothing is sized by it.
    info.frames = opened.frames;
    if (reads_differently_after_seeking(opened)) {
        info.decoded = temporary_file();
        info.frames = decode(source.file, info.tracks, info.decoded.get());
        info.pcm_bytes = sizeof(float);
    } else if (opened.frames > 0 && !has_frame(source.file, opened.frames - 1, info.tracks)) {
        source.open_decoder(path);
        info.frames = decode(source.file, info.tracks, nullptr);
    }
    if (info.frames <= 0)
        throw_input(path, "", "holds 0 frames", "give a recording with samples in it");
    info.frames_promised = promise.frames;
    info.open_ended = promise.open_ended;
    info.cut_short = promise.mid_frame || (promise.frames && *promise.frames > info.frames);
    const int subtype = opened.format & SF_FORMAT_SUBMASK;
    const bool agreed = promise.plain_pcm_bytes == (subtype == SF_FORMAT_PCM_16   ? 2
                                                    : subtype == SF_FORMAT_PCM_24 ? 3
                                                                                  : -1);
    if (agreed && !info.decoded && promise.frame_bytes == promise.plain_pcm_bytes * info.tracks &&
        promise.data_at + info.frames * promise.frame_bytes <= source.size) {
        info.pcm_at = promise.data_at;
        info.pcm_bytes = promise.plain_pcm_bytes;
    }
    return info;
}

AudioFile::AudioFile(std::string path, std::shared_ptr<FileHandle> spooled, const AudioInfo& info)
    : path_(std::move(path)),
      source_(std::make_unique<Source>(path_, info.decoded ? info.decoded : std::move(spooled))),
      info_(info) {
    if (info_.pcm_bytes != 0) return;
    source_->wrong_size = source_->promise().wrong_size;
    source_->open_decoder(path_);
}

AudioFile::~AudioFile() = default;

void AudioFile::fail_at(Frame frame) const {
    throw_input(path_, fmt::format("frame {}", frame), "can no longer be read",
                "do not change a recording while it is read");
}

void AudioFile::read(Frame first, Frame count, std::span<const TrackTarget> targets) {
    if (info_.pcm_bytes != 0)
        read_plain(first, count, targets);
    else
        read_decoded(first, count, targets);
}

void AudioFile::read_plain(Frame first, Frame count, std::span<const TrackTarget> targets) {
    constexpr Frame step_bytes = 1 << 18;
    const Frame stride = Frame{info_.tracks} * info_.pcm_bytes;
    const Frame step = std::min(count, step_bytes / stride);
    bytes_.resize(static_cast<std::size_t>(step * stride + 1));
    std::vector<TrackTarget> moving(targets.begin(), targets.end());
    for (Frame done = 0; done < count; done += step) {
        const Frame now = std::min(step, count - done);
        const auto wanted = static_cast<std::size_t>(now * stride);
        if (source_->read_at(info_.pcm_at + (first + done) * stride, bytes_.data(), wanted) !=
            wanted)
            fail_at(first + done);
        decode_plain_pcm(bytes_.data(), now, info_.tracks, info_.pcm_bytes, moving);
        for (TrackTarget& target : moving)
            target.samples += now;
    }
}

bool AudioFile::go_to(Frame frame) {
    if (at_ == frame) return true;
    at_ = frame;
    return sf_seek(source_->file, frame, SEEK_SET) == frame;
}

void AudioFile::read_decoded(Frame first, Frame count, std::span<const TrackTarget> targets) {
    constexpr Frame step_samples = 4096; // fits the first-level cache
    const Frame step = std::max<Frame>(1, step_samples / info_.tracks);
    floats_.resize(static_cast<std::size_t>(step * info_.tracks));
    std::vector<TrackTarget> moving(targets.begin(), targets.end());
    if (!go_to(first)) fail_at(first);
    for (Frame done = 0; done < count;) {
        const sf_count_t got =
            sf_readf_float(source_->file, floats_.data(), std::min(step, count - done));
        if (got <= 0) {
            at_ = -1;
            fail_at(first + done);
        }
        deinterleave(floats_.data(), got, info_.tracks, moving);
        for (TrackTarget& target : moving)
            target.samples += got;
        done += got;
        at_ += got;
    }
}

std::shared_ptr<FileHandle> spool_standard_input() {
    auto handle = temporary_file();
    std::vector<char> buffer(1U << 20U);
    for (;;) {
        const ssize_t got = ::read(STDIN_FILENO, buffer.data(), buffer.size());
        if (got < 0 && errno == EINTR) continue;
        if (got < 0) throw_input("standard input", "", std::strerror(errno), "");
        if (got == 0) return handle;
        append(*handle, {buffer.data(), static_cast<std::size_t>(got)});
    }
}

} // namespace lull
