// SPDX-License-Identifier: GPL-3.0-or-later
#include "review/filter_recording.hpp"

#include "error.hpp"
#include "recording/exercise_mark.hpp"
#include "recording/start_time.hpp"
#include "recording/writer.hpp"
#include "review/unit_pass.hpp"
#include "signal/hum_removal.hpp"
#include "signal/section_filter.hpp"

#include <algorithm>
#include <cmath>
#include <memory>
#include <utility>

namespace lull {
namespace {

constexpr Frame block_frames = 65536;
/// What a zero-phase filter needs before and after a stretch: its answer to one sample has died
/// away by then for corners of 20 Hz and more.
constexpr double surround_s = 1.0;

/// Reads what another stream gives, its mains hum subtracted.
class HumFreeStream : public Stream {
  public:
    HumFreeStream(std::unique_ptr<Stream> source, double rate_hz, std::optional<double> mains_hz)
        : source_(std::move(source)), rate_hz_(rate_hz), mains_hz_(mains_hz) {}

    void read(Frame first, Frame count, Block& block) override {
        source_->read(first, count, block);
        if (block.frames == 0) return;
        const Frame hop = hum_hop(rate_hz_);
        const Frame begin = std::max<Frame>(0, block.first / hop * hop - hop);
        const Frame end = ((block.first + block.frames + hop - 1) / hop + 1) * hop;
        source_->read(begin, end - begin, wide_);
        for (int c = 0; c < block.channels; ++c) {
            const std::vector<float> hum = hum_in(wide_.channel(c), wide_.first, block.first,
                                                  block.frames, rate_hz_, mains_hz_);
            const auto samples = block.channel(c);
            for (std::size_t i = 0; i < hum.size(); ++i)
                samples[i] -= hum[i];
        }
    }

  private:
    std::unique_ptr<Stream> source_;
    double rate_hz_;
    std::optional<double> mains_hz_;
    Block wide_;
};

/// Reads what another stream gives, silent where it is withheld: before any filter, so that none
/// carries a trace of it out of its stretch.
class WithheldStream : public Stream {
  public:
    WithheldStream(std::unique_ptr<Stream> source, double rate_hz, std::vector<TimeSpan> withheld)
        : source_(std::move(source)), rate_hz_(rate_hz), withheld_(std::move(withheld)) {}

    void read(Frame first, Frame count, Block& block) override {
        source_->read(first, count, block);
        for (const TimeSpan& span : withheld_) {
            const auto from = static_cast<Frame>(std::floor(span.from_s * rate_hz_)) - block.first,
                       to = static_cast<Frame>(std::ceil(span.to_s * rate_hz_)) - block.first;
            const Frame begin = std::clamp<Frame>(from, 0, block.frames),
                        end = std::clamp<Frame>(to, begin, block.frames);
            for (int c = 0; c < block.channels; ++c)
                std::fill_n(block.channel(c).begin() + begin, end - begin, 0.0F);
        }
    }

  private:
    std::unique_ptr<Stream> source_;
    double rate_hz_;
    std::vector<TimeSpan> withheld_;
};

/// \return how many samples are beyond full scale then
Frame scale(Block& block, float gain) {
    Frame beyond = 0;
    for (float& sample : block.samples) {
        sample *= gain;
        beyond += std::fabs(sample) > 1.0F ? 1 : 0;
    }
    return beyond;
}

/// The least format that holds what every input holds.
SampleFormat format_of(const Recording& recording) {
    SampleFormat format = SampleFormat::pcm_16;
    for (const InputFile& input : recording.inputs) {
        const auto says = [&input](const char* word) {
            return input.format.find(word) != std::string::npos;
        };
        if (says("float") || says("32 bit") || says("32-bit")) return SampleFormat::float_32;
        if (!says("16 bit") && !says("16-bit") && !says("8 bit") && !says("8-bit"))
            format = SampleFormat::pcm_24;
    }
    return format;
}

/// Forward and backward over each stretch with its surroundings, so that stretches join without a
/// seam.
void filter_zero_phase(Stream& stream, const Sections& sections, Frame first, Frame count,
                       Frame surround, Block& block) {
    Block wide;
    const Frame begin = std::max<Frame>(0, first - surround);
    stream.read(begin, first - begin + count + surround, wide);
    block.first = first;
    block.frames = std::clamp<Frame>(wide.frames - (first - begin), 0, count);
    block.channels = wide.channels;
    block.samples.resize(static_cast<std::size_t>(block.frames * block.channels));
    for (int c = 0; c < wide.channels; ++c) {
        const std::vector<float> filtered =
            zero_phase(sections, wide.channel(c), static_cast<std::size_t>(surround) / 4);
        std::copy_n(filtered.begin() + (first - begin), block.frames, block.channel(c).begin());
    }
}

AudioFormat output_format(const Recording& recording, const Settings& settings,
                          std::optional<SampleFormat> samples) {
    AudioFormat format;
    format.samples = samples.value_or(format_of(recording));
    format.rate_hz = recording.rate_hz;
    format.tracks = static_cast<int>(recording.channels.size());
    format.expected_frames = settings.to - settings.from;
    format.start = moved_start(recording.start, recording.seconds(settings.from));
    if (recording.exercise) format.description = exercise_mark;
    return format;
}

} // namespace

FilterOutcome filter_recording(const Recording& recording, const Settings& settings,
                               const FilterRequest& request, const std::string& file,
                               const ProgressSink& progress) {
    Sections sections;
    if (request.band) sections = analysis_filter(*request.band, recording.rate_hz);
    const AudioFormat format = output_format(recording, settings, request.samples);
    AudioWriter writer(file, format);
    std::unique_ptr<Stream> stream = recording.open();
    if (!request.withheld.empty())
        stream = std::make_unique<WithheldStream>(std::move(stream), recording.rate_hz,
                                                  request.withheld);
    if (request.remove_hum)
        stream = std::make_unique<HumFreeStream>(std::move(stream), recording.rate_hz,
                                                 recording.session.mains_hz);
    const auto gain = static_cast<float>(db_to_amplitude(request.gain_db));
    const auto surround = static_cast<Frame>(std::llround(surround_s * recording.rate_hz));
    SectionFilter filter(sections, static_cast<int>(recording.channels.size()));
    Block block;
    Frame beyond = 0;
    ProgressState state{"filtering", 0.0, recording.seconds(settings.to - settings.from), true};
    for (Frame at = settings.from; at < settings.to; at += block.frames) {
        progress(state);
        const Frame count = std::min(block_frames, settings.to - at);
        if (request.zero_phase && !sections.empty()) {
            filter_zero_phase(*stream, sections, at, count, surround, block);
        } else {
            stream->read(at, count, block);
            if (at == settings.from) filter.prime(block);
            filter.push(block);
        }
        if (block.frames == 0) break;
        beyond += scale(block, gain);
        writer.write(block);
        state.done_s += recording.seconds(block.frames);
    }
    writer.close();
    const bool held = format.samples != SampleFormat::float_32;
    return {settings.to - settings.from, held ? writer.clipped() : beyond};
}

} // namespace lull
