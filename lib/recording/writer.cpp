// SPDX-License-Identifier: GPL-3.0-or-later
#include "recording/writer.hpp"

#include "clones.hpp"
#include "error.hpp"
#include "recording/atomic_file.hpp"
#include "recording/internal/sndfile_lock.hpp"
#include "recording/start_time.hpp"

#include <fmt/format.h>
#include <sndfile.h>

#include <algorithm>
#include <cerrno>
#include <cmath>
#include <cstring>
#include <fcntl.h>
#include <filesystem>
#include <unistd.h>
#include <utility>

namespace lull {
namespace {

constexpr double largest_wav_bytes = 4.0e9; ///< leaves room for chunks under 2^32

int container_of(const std::string& path, const AudioFormat& format) {
    std::string ending = std::filesystem::path(path).extension().string();
    std::ranges::transform(ending, ending.begin(), [](unsigned char c) { return std::tolower(c); });
    if (ending == ".wav") {
        const int bytes = format.samples == SampleFormat::pcm_16   ? 2
                          : format.samples == SampleFormat::pcm_24 ? 3
                                                                   : 4;
        const double size =
            static_cast<double>(format.expected_frames.value_or(0)) * bytes * format.tracks;
        return format.expected_frames && size < largest_wav_bytes ? SF_FORMAT_WAV : SF_FORMAT_RF64;
    }
    if (ending == ".rf64") return SF_FORMAT_RF64;
    if (ending == ".w64") return SF_FORMAT_W64;
    if (ending == ".flac") return SF_FORMAT_FLAC;
    if (ending == ".aiff" || ending == ".aif") return SF_FORMAT_AIFF;
    if (ending == ".caf") return SF_FORMAT_CAF;
    throw_usage(path + ": '" + ending + "' is not an ending of an audio file",
                "give .wav, .flac, .w64, .rf64, .aiff or .caf");
}

int subtype_of(SampleFormat samples) {
    switch (samples) {
    case SampleFormat::pcm_16:
        return SF_FORMAT_PCM_16;
    case SampleFormat::pcm_24:
        return SF_FORMAT_PCM_24;
    case SampleFormat::float_32:
        return SF_FORMAT_FLOAT;
    }
    return SF_FORMAT_PCM_24;
}

/// Rounds to integers at a resolution of `scale` steps to full scale, each times `unit`. \return
/// the number that did not fit
LULL_CLONES std::int32_t round_all(const float* samples, std::size_t count, float scale,
                                   std::int32_t unit, std::int32_t* integers) {
    const float highest = scale - 1.0F, lowest = -scale;
    std::int32_t clipped = 0;
    for (std::size_t i = 0; i < count; ++i) {
        const float value = std::nearbyint(samples[i] * scale);
        const float below = value > highest ? highest : value;
        const float held = below < lowest ? lowest : below;
        clipped += value != held ? 1 : 0;
        integers[i] = static_cast<std::int32_t>(held == held ? held : 0.0F) * unit;
    }
    return clipped;
}

void put(char* field, std::size_t size, const std::string& text) {
    std::memcpy(field, text.data(), std::min(size, text.size()));
}

SF_BROADCAST_INFO broadcast_of(const AudioFormat& format) {
    SF_BROADCAST_INFO chunk{};
    put(chunk.description, sizeof chunk.description, format.description);
    put(chunk.originator, sizeof chunk.originator, "lull");
    chunk.version = 1;
    if (format.start.unix_s) {
        StartTime civil = format.start; // bext carries no zone
        civil.utc_offset_s.reset();
        civil.zone_name.clear();
        const std::string clock = clock_text(civil, 0.0);
        put(chunk.origination_date, sizeof chunk.origination_date, clock.substr(0, 10));
        put(chunk.origination_time, sizeof chunk.origination_time, clock.substr(11, 8));
        const double of_day = std::fmod(*format.start.unix_s, 86400.0);
        const auto samples = static_cast<std::uint64_t>(
            std::llround((of_day < 0 ? of_day + 86400.0 : of_day) * format.rate_hz));
        chunk.time_reference_low = static_cast<std::uint32_t>(samples);
        chunk.time_reference_high = static_cast<std::uint32_t>(samples >> 32U);
    }
    return chunk;
}

} // namespace

/// Passes libsndfile our own descriptor, so that the system's reason of a failed write is kept, or
/// memory.
struct AudioWriter::Sink {
    std::optional<AtomicFile> target;
    std::string* memory = nullptr; ///< where there is no target
    SNDFILE* file = nullptr;
    std::int64_t size = 0, at = 0;
    int failed = 0; ///< errno of the first write that failed

    explicit Sink(const std::string& path) { target.emplace(path); }
    explicit Sink(std::string* bytes) : memory(bytes) { bytes->clear(); }
    ~Sink() {
        if (file != nullptr) sf_close(file);
    }
    Sink(const Sink&) = delete;
    Sink& operator=(const Sink&) = delete;
    static Sink* self(void* user) { return static_cast<Sink*>(user); }
    static sf_count_t length(void* user) { return self(user)->size; }
    static sf_count_t tell(void* user) { return self(user)->at; }
    static sf_count_t seek(sf_count_t offset, int whence, void* user) {
        Sink* sink = self(user);
        return sink->at = offset + (whence == SEEK_SET   ? 0
                                    : whence == SEEK_CUR ? sink->at
                                                         : sink->size);
    }
    static sf_count_t read(void* into, sf_count_t count, void* user) {
        Sink* sink = self(user);
        if (sink->memory != nullptr) {
            const sf_count_t got = std::clamp<sf_count_t>(sink->size - sink->at, 0, count);
            std::copy_n(sink->memory->data() + sink->at, got, static_cast<char*>(into));
            sink->at += got;
            return got;
        }
        const ssize_t got =
            ::pread(sink->target->descriptor(), into, static_cast<std::size_t>(count), sink->at);
        if (got > 0) sink->at += got;
        return got > 0 ? got : 0;
    }
    static sf_count_t write(const void* from, sf_count_t count, void* user) {
        Sink* sink = self(user);
        if (sink->memory != nullptr) {
            sink->size = std::max(sink->size, sink->at + count);
            sink->memory->resize(static_cast<std::size_t>(sink->size));
            std::copy_n(static_cast<const char*>(from), count, sink->memory->data() + sink->at);
            sink->at += count;
            return count;
        }
        sf_count_t done = 0;
        while (done < count) {
            const ssize_t put =
                ::pwrite(sink->target->descriptor(), static_cast<const char*>(from) + done,
                         static_cast<std::size_t>(count - done), sink->at + done);
            if (put < 0 && errno == EINTR) continue;
            if (put <= 0) {
                if (sink->failed == 0) sink->failed = put < 0 ? errno : EIO;
                break;
            }
            done += put;
        }
        sink->at += done;
        sink->size = std::max(sink->size, sink->at);
        return done;
    }
};

AudioWriter::AudioWriter(std::string path, const AudioFormat& format)
    : AudioWriter(path, format, std::make_unique<Sink>(path)) {}

AudioWriter::AudioWriter(const std::string& ending, const AudioFormat& format, std::string& bytes)
    : AudioWriter("sound" + ending, format, std::make_unique<Sink>(&bytes)) {}

AudioWriter::AudioWriter(std::string path, const AudioFormat& format, std::unique_ptr<Sink> sink)
    : path_(std::move(path)), sink_(std::move(sink)), tracks_(format.tracks),
      samples_(format.samples) {
    SF_INFO info{};
    info.samplerate = static_cast<int>(std::lround(format.rate_hz));
    info.channels = format.tracks;
    info.format = container_of(path_, format) | subtype_of(format.samples);
    if (sf_format_check(&info) == 0)
        throw_usage(path_ +
                        fmt::format(": this kind of file cannot hold {} channels of these samples",
                                    format.tracks),
                    "give .wav or another sample format");
    SF_VIRTUAL_IO io{&Sink::length, &Sink::seek, &Sink::read, &Sink::write, &Sink::tell};
    std::string reason;
    {
        const std::scoped_lock lock(sndfile_open_mutex());
        sink_->file = sf_open_virtual(&io, SFM_WRITE, &info, sink_.get());
        if (sink_->file == nullptr) reason = sf_strerror(nullptr);
    }
    if (sink_->failed != 0) throw_output(path_, std::strerror(sink_->failed), "");
    if (sink_->file == nullptr) throw_output(path_, reason, "");
    sf_command(sink_->file, SFC_SET_ADD_PEAK_CHUNK, nullptr, SF_FALSE);
    double least = 0.0;
    if (format.in_haste) sf_command(sink_->file, SFC_SET_COMPRESSION_LEVEL, &least, sizeof least);
    rf64_ = (info.format & SF_FORMAT_TYPEMASK) == SF_FORMAT_RF64;
    describe(info.format & SF_FORMAT_TYPEMASK, format);
}

AudioWriter::~AudioWriter() = default;

void AudioWriter::describe(int container, const AudioFormat& format) {
    if (container == SF_FORMAT_RF64 && !format.expected_frames)
        sf_command(sink_->file, SFC_RF64_AUTO_DOWNGRADE, nullptr, SF_TRUE);
    if (container == SF_FORMAT_WAV || container == SF_FORMAT_RF64) {
        SF_BROADCAST_INFO chunk = broadcast_of(format);
        if (format.start.unix_s || !format.description.empty())
            sf_command(sink_->file, SFC_SET_BROADCAST_INFO, &chunk, sizeof chunk);
    } else if (!format.description.empty()) {
        sf_set_string(sink_->file, SF_STR_COMMENT, format.description.c_str());
    }
}

void AudioWriter::write(const Block& block) {
    if (block.channels != tracks_)
        throw_output(path_, fmt::format("{} channels for a file of {}", block.channels, tracks_),
                     "");
    buffer_.resize(static_cast<std::size_t>(block.frames * block.channels));
    for (int c = 0; c < block.channels; ++c) {
        float* out = buffer_.data() + c;
        for (const float sample : block.channel(c)) {
            *out = sample;
            out += block.channels;
        }
    }
    write(buffer_);
}

/// Nearest integer at the file's resolution, in the top bits of a word as libsndfile needs it, so
/// that a sample from such a file is unchanged. (libsndfile's own conversion scales by one step
/// less than it reads with.)
void AudioWriter::to_integers(std::span<const float> samples) {
    const int bits = samples_ == SampleFormat::pcm_16 ? 16 : 24;
    integers_.resize(samples.size());
    clipped_ += round_all(samples.data(), samples.size(), static_cast<float>(1 << (bits - 1)),
                          static_cast<std::int32_t>(1) << (32 - bits), integers_.data());
}

void AudioWriter::write(std::span<const float> interleaved) {
    const auto frames = static_cast<sf_count_t>(interleaved.size()) / tracks_;
    sf_count_t done = 0;
    if (samples_ == SampleFormat::float_32) {
        done = sf_writef_float(sink_->file, interleaved.data(), frames);
    } else {
        to_integers(interleaved);
        done = sf_writef_int(sink_->file, integers_.data(), frames);
    }
    if (sink_->failed != 0) throw_output(path_, std::strerror(sink_->failed), "");
    if (done != frames) throw_output(path_, sf_strerror(sink_->file), "");
}

/// Clears the time of writing in the PEAK chunk, with which the same samples would give other bytes
/// a second later. libsndfile cannot leave that chunk out of RF64.
void AudioWriter::clear_peak_time() {
    unsigned char head[4096] = {};
    sink_->at = 0;
    const auto size = static_cast<std::size_t>(Sink::read(head, sizeof head, sink_.get()));
    for (std::size_t at = 12; at + 16 <= size;) {
        const std::size_t bytes = head[at + 4] | head[at + 5] << 8U | head[at + 6] << 16U |
                                  static_cast<std::size_t>(head[at + 7]) << 24U;
        if (std::memcmp(head + at, "data", 4) == 0) return;
        if (std::memcmp(head + at, "PEAK", 4) == 0) {
            sink_->at = static_cast<std::int64_t>(at) + 12; // name, size, version, time
            Sink::write("\0\0\0\0", 4, sink_.get());
            return;
        }
        at += 8 + bytes + bytes % 2;
    }
}

void AudioWriter::close() {
    const int fault = sf_close(std::exchange(sink_->file, nullptr));
    if (rf64_) clear_peak_time();
    if (sink_->failed != 0) throw_output(path_, std::strerror(sink_->failed), "");
    if (fault != 0) throw_output(path_, sf_error_number(fault), "");
    if (sink_->target) sink_->target->commit();
}

} // namespace lull
