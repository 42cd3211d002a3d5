// SPDX-License-Identifier: GPL-3.0-or-later
#include "recording/opus.hpp"

#include <ogg/ogg.h>
#include <opus/opus.h>

#include <algorithm>
#include <array>
#include <cstddef>
#include <cstdint>
#include <memory>
#include <new>
#include <string_view>

namespace lull {
namespace {

constexpr int rate_hz = static_cast<int>(opus_rate_hz), granules_a_sample = 48000 / rate_hz;
constexpr std::size_t packet_samples = 160;  ///< 20 ms, the longest packet without prediction
constexpr std::size_t longest_packet = 1275; ///< bytes (RFC 6716, 3.2.1)
/// The lowest complexity with short blocks round an onset, so that a knock has no echo before it.
/// More takes up to twice as long.
constexpr int complexity = 1;

void require(bool granted) {
    if (!granted) throw std::bad_alloc();
}

std::string little(std::uint32_t value, int bytes) {
    std::string text;
    for (int byte = 0; byte < bytes; ++byte)
        text.push_back(static_cast<char>(value >> (8 * byte) & 0xFFU));
    return text;
}

class Encoder {
  public:
    explicit Encoder(int bits_a_second) {
        int fault = OPUS_OK;
        state_.reset(opus_encoder_create(rate_hz, 1, OPUS_APPLICATION_AUDIO, &fault));
        require(state_ != nullptr);
        opus_encoder_ctl(state_.get(), OPUS_SET_BITRATE(bits_a_second));
        opus_encoder_ctl(state_.get(), OPUS_SET_COMPLEXITY(complexity));
    }
    /// Samples that a decoder gives before the first real one.
    [[nodiscard]] int lookahead() const {
        opus_int32 samples = 0;
        opus_encoder_ctl(state_.get(), OPUS_GET_LOOKAHEAD(&samples));
        return samples;
    }
    /// \param samples  as many as a packet holds
    [[nodiscard]] std::span<unsigned char> encode(std::span<const float> samples) {
        const opus_int32 bytes =
            opus_encode_float(state_.get(), samples.data(), static_cast<int>(samples.size()),
                              packet_.data(), static_cast<opus_int32>(packet_.size()));
        require(bytes > 0);
        return {packet_.data(), static_cast<std::size_t>(bytes)};
    }

  private:
    struct Destroy {
        void operator()(OpusEncoder* state) const { opus_encoder_destroy(state); }
    };
    std::unique_ptr<OpusEncoder, Destroy> state_;
    std::array<unsigned char, longest_packet> packet_{};
};

/// Puts packets into the pages of one stream, which has a fixed number.
class Pages {
  public:
    explicit Pages(std::string& file) : file_(file) { require(ogg_stream_init(&state_, 1) == 0); }
    ~Pages() { ogg_stream_clear(&state_); }
    Pages(const Pages&) = delete;
    Pages& operator=(const Pages&) = delete;

    /// \param granule  of the last sample that is complete after it, at 48 kHz
    void add(std::span<unsigned char> bytes, std::int64_t granule, bool last) {
        ogg_packet packet{
            bytes.data(), static_cast<long>(bytes.size()), number_ == 0, last, granule, number_};
        ++number_;
        require(ogg_stream_packetin(&state_, &packet) == 0);
        ogg_page page;
        while (ogg_stream_pageout(&state_, &page) != 0)
            put(page);
    }
    /// What is added next begins a page.
    void end_page() {
        ogg_page page;
        while (ogg_stream_flush(&state_, &page) != 0)
            put(page);
    }

  private:
    void put(const ogg_page& page) {
        file_.append(reinterpret_cast<const char*>(page.header),
                     static_cast<std::size_t>(page.header_len));
        file_.append(reinterpret_cast<const char*>(page.body),
                     static_cast<std::size_t>(page.body_len));
    }

    std::string& file_;
    ogg_stream_state state_{};
    std::int64_t number_ = 0;
};

/// The header packets, RFC 7845, 5.1 and 5.2.
void add_heads(Pages& pages, int pre_skip) {
    constexpr std::string_view writer = "lull";
    std::string about = "OpusHead\x01\x01" + little(static_cast<std::uint32_t>(pre_skip), 2) +
                        little(rate_hz, 4) + little(0, 3);
    std::string tags = "OpusTags" + little(writer.size(), 4) + std::string(writer) + little(0, 4);
    for (std::string* head : {&about, &tags}) {
        pages.add({reinterpret_cast<unsigned char*>(head->data()), head->size()}, 0, false);
        pages.end_page();
    }
}

} // namespace

std::string to_opus(std::span<const float> samples, int bits_a_second) {
    std::string file;
    Encoder encoder(bits_a_second);
    Pages pages(file);
    const auto lookahead = static_cast<std::size_t>(encoder.lookahead());
    add_heads(pages, static_cast<int>(lookahead) * granules_a_sample);
    const std::size_t whole = samples.size() + lookahead;
    std::array<float, packet_samples> packet{};
    for (std::size_t at = 0; at < whole; at += packet_samples) {
        const std::size_t end = std::min(whole, at + packet_samples);
        const auto own = samples.subspan(std::min(at, samples.size()));
        std::ranges::fill(packet, 0.0F);
        std::copy_n(own.begin(), std::min(own.size(), packet_samples), packet.begin());
        pages.add(encoder.encode(packet), static_cast<std::int64_t>(end) * granules_a_sample,
                  end == whole);
    }
    pages.end_page();
    return file;
}

} // namespace lull
