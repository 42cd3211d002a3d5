// SPDX-License-Identifier: GPL-3.0-or-later
#include "recording/writer.hpp"

#include "error.hpp"
#include "recording/atomic_file.hpp"
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

constexpr double largest_wav_bytes = 4.0e9; ///< room for chunks under 2^32

int container_of(const std::string& path, const AudioFormat& format) {
    std::string ending = std::filesystem::path(path).extension().string();
    std::ranges::transform(ending, ending.begin(), [](unsigned char c) { return std::tolower(c); });
    if (ending == ".wav") {
        const int bytes = format.samples == SampleFormat::pcm_16 ? 2 : format.samples == SampleFormat::pcm_24 ? 3 : 4;
        const double size = static_cast<double>(format.expected_frames.value_or(0)) * bytes * format.tracks;
        return format.expected_frames && size < largest_wav_bytes ? SF_FORMAT_WAV : SF_FORMAT_RF64;
    }
    if (ending == ".rf64") return SF_FORMAT_RF64;
    if (ending == ".w64") return SF_FORMAT_W64;
    if (ending == ".flac") return SF_FORMAT_FLAC;
    if (ending == ".aiff" || ending == ".aif") return SF_FORMAT_AIFF;
    if (ending == ".caf") return SF_FORMAT_CAF;
    throw_usage(path + ": '" + ending + "' is not an ending of an audio file", "give .wav, .flac, .w64, .rf64, .aiff or .caf");
}

int subtype_of(SampleFormat samples) {
    switch (samples) {
    case SampleFormat::pcm_16: return SF_FORMAT_PCM_16;
    case SampleFormat::pcm_24: return SF_FORMAT_PCM_24;
    case SampleFormat::float_32: return SF_FORMAT_FLOAT;
    }
    return SF_FORMAT_PCM_24;
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
        const auto samples = static_cast<std::uint64_t>(std::llround((of_day < 0 ? of_day + 86400.0 : of_day) * format.rate_hz));
        chunk.time_reference_low = static_cast<std::uint32_t>(samples);
        chunk.time_reference_high = static_cast<std::uint32_t>(samples >> 32U);
    }
    return chunk;
}

} // namespace

/// libsndfile on a descriptor of ours, so that a write that fails keeps the system's reason.
struct AudioWriter::Sink {
    std::string part;
    int descriptor = -1;
    SNDFILE* file = nullptr;
    sf_count_t at = 0, size = 0;
    int failed = 0; ///< errno of the first write that failed

    ~Sink() {
        if (file != nullptr) sf_close(file);
        if (descriptor >= 0) ::close(descriptor);
        if (!part.empty()) ::unlink(part.c_str());
    }
    static Sink* self(void* user) { return static_cast<Sink*>(user); }
    static sf_count_t length(void* user) { return self(user)->size; }
    static sf_count_t tell(void* user) { return self(user)->at; }
    static sf_count_t seek(sf_count_t offset, int whence, void* user) {
        Sink* sink = self(user);
        return sink->at = offset + (whence == SEEK_SET ? 0 : whence == SEEK_CUR ? sink->at : sink->size);
    }
    static sf_count_t read(void* into, sf_count_t count, void* user) {
        Sink* sink = self(user);
        const ssize_t got = ::pread(sink->descriptor, into, static_cast<std::size_t>(count), sink->at);
        if (got > 0) sink->at += got;
        return got > 0 ? got : 0;
    }
    static sf_count_t write(const void* from, sf_count_t count, void* user) {
        Sink* sink = self(user);
        sf_count_t done = 0;
        while (done < count) {
            const ssize_t put = ::pwrite(sink->descriptor, static_cast<const char*>(from) + done,
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
    : path_(std::move(path)), sink_(std::make_unique<Sink>()), tracks_(format.tracks),
      holds_beyond_full_scale_(format.samples == SampleFormat::float_32) {
    SF_INFO info{};
    info.samplerate = static_cast<int>(std::lround(format.rate_hz));
    info.channels = format.tracks;
    info.format = container_of(path_, format) | subtype_of(format.samples);
    if (sf_format_check(&info) == 0)
        throw_usage(path_ + fmt::format(": this kind of file cannot hold {} channels of these samples", format.tracks),
                    "give .wav or another sample format");
    remove_stale_parts(path_);
    sink_->part = part_name(path_);
    sink_->descriptor = ::open(sink_->part.c_str(), O_RDWR | O_CREAT | O_TRUNC | O_CLOEXEC, 0666);
    if (sink_->descriptor < 0) {
        sink_->part.clear();
        throw_output(path_, std::strerror(errno), "");
    }
    SF_VIRTUAL_IO io{&Sink::length, &Sink::seek, &Sink::read, &Sink::write, &Sink::tell};
    sink_->file = sf_open_virtual(&io, SFM_WRITE, &info, sink_.get());
    if (sink_->file == nullptr) throw_output(path_, sf_strerror(nullptr), "");
    sf_command(sink_->file, SFC_SET_ADD_PEAK_CHUNK, nullptr, SF_FALSE);
    sf_command(sink_->file, SFC_SET_CLIPPING, nullptr, SF_TRUE);
    const int container = info.format & SF_FORMAT_TYPEMASK;
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

AudioWriter::~AudioWriter() = default;

void AudioWriter::write(const Block& block) {
    buffer_.resize(static_cast<std::size_t>(block.frames * block.channels));
    for (int c = 0; c < block.channels; ++c) {
        const auto samples = block.channel(c);
        float* out = buffer_.data() + c;
        for (const float sample : samples) {
            *out = sample;
            out += block.channels;
        }
    }
    write(buffer_);
}

void AudioWriter::write(std::span<const float> interleaved) {
    if (!holds_beyond_full_scale_)
        clipped_ += std::ranges::count_if(interleaved, [](float x) { return x > 1.0F || x < -1.0F; });
    const auto frames = static_cast<sf_count_t>(interleaved.size()) / tracks_;
    const sf_count_t done = sf_writef_float(sink_->file, interleaved.data(), frames);
    if (sink_->failed != 0) throw_output(path_, std::strerror(sink_->failed), "");
    if (done != frames) throw_output(path_, sf_strerror(sink_->file), "");
}

void AudioWriter::close() {
    const int fault = sf_close(std::exchange(sink_->file, nullptr));
    if (sink_->failed != 0) throw_output(path_, std::strerror(sink_->failed), "");
    if (fault != 0) throw_output(path_, sf_error_number(fault), "");
    publish_part(sink_->part, path_);
    sink_->part.clear();
}

} // namespace lull
