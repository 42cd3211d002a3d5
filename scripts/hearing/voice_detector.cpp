// SPDX-License-Identifier: GPL-3.0-or-later
//
// The voice detector of libwebrtc-audio-processing, a general-purpose peer: reads 16-bit mono
// samples at 16 kHz from standard input and writes, for each 10 ms, 9 where it hears a voice and 0
// where not. Built and run by scripts/evaluate when the library is installed.
#include <cstdint>
#include <cstdio>
#include <memory>
#include <vector>
#include <webrtc/modules/audio_processing/include/audio_processing.h>

int main() {
    constexpr int rate_hz = 16000;
    constexpr std::size_t frame = rate_hz / 100;
    const std::unique_ptr<webrtc::AudioProcessing> processing(webrtc::AudioProcessing::Create());
    processing->voice_detection()->Enable(true);
    processing->voice_detection()->set_likelihood(webrtc::VoiceDetection::kModerateLikelihood);
    std::vector<std::int16_t> samples(frame);
    std::vector<float> values(frame);
    while (std::fread(samples.data(), sizeof(std::int16_t), frame, stdin) == frame) {
        for (std::size_t i = 0; i < frame; ++i)
            values[i] = static_cast<float>(samples[i]) / 32768.0F;
        float* channel = values.data();
        const webrtc::StreamConfig mono(rate_hz, 1);
        if (processing->ProcessStream(&channel, mono, mono, &channel) != 0) return 1;
        std::putchar(processing->voice_detection()->stream_has_voice() ? '9' : '0');
    }
    return std::fflush(stdout) == 0 ? 0 : 1;
}
