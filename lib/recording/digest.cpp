// SPDX-License-Identifier: GPL-3.0-or-later
#include "recording/digest.hpp"

#include "error.hpp"
#include "recording/file_recording.hpp"

#include <fmt/format.h>
#include <openssl/evp.h>

#include <cerrno>
#include <cstring>
#include <fcntl.h>
#include <unistd.h>
#include <vector>

namespace lull {

struct Sha256::Context {
    EVP_MD_CTX* evp = EVP_MD_CTX_new();
    ~Context() { EVP_MD_CTX_free(evp); }
};

Sha256::Sha256() : context_(std::make_unique<Context>()) {
    if (context_->evp == nullptr || EVP_DigestInit_ex(context_->evp, EVP_sha256(), nullptr) != 1)
        throw_output("", "SHA-256 is not available", "");
}
Sha256::~Sha256() = default;
Sha256::Sha256(Sha256&&) noexcept = default;
Sha256& Sha256::operator=(Sha256&&) noexcept = default;

void Sha256::add(std::span<const char> bytes) {
    if (EVP_DigestUpdate(context_->evp, bytes.data(), bytes.size()) != 1)
        throw_output("", "SHA-256 failed", "");
}

std::string Sha256::hex() {
    unsigned char digest[EVP_MAX_MD_SIZE] = {};
    unsigned size = 0;
    EVP_DigestFinal_ex(context_->evp, digest, &size);
    std::string text;
    for (unsigned i = 0; i < size; ++i)
        text += fmt::format("{:02x}", digest[i]);
    return text;
}

namespace {

std::string digest_of(const FileHandle& handle, const std::string& path,
                      const std::atomic<bool>& stop) {
    Sha256 sum;
    std::vector<char> buffer(1U << 18U);
    for (std::int64_t at = 0; !stop;) {
        const ssize_t got = ::pread(handle.descriptor(), buffer.data(), buffer.size(), at);
        if (got < 0 && errno == EINTR) continue;
        if (got < 0) throw_input(path, "", std::strerror(errno), "");
        if (got == 0) return sum.hex();
        sum.add({buffer.data(), static_cast<std::size_t>(got)});
        at += got;
    }
    return "";
}

std::string digest_of(const std::string& path, const std::atomic<bool>& stop) {
    const int descriptor = ::open(path.c_str(), O_RDONLY | O_CLOEXEC);
    if (descriptor < 0) throw_input(path, "", std::strerror(errno), "");
    return digest_of(FileHandle(descriptor), path, stop);
}

} // namespace

std::string sha256_of_file(const std::string& path) {
    return digest_of(path, false);
}

std::string sha256_of_text(std::string_view text) {
    Sha256 sum;
    sum.add({text.data(), text.size()});
    return sum.hex();
}

void digest_inputs(Recording& recording) {
    digest_inputs(recording, false);
}

void digest_inputs(Recording& recording, const std::atomic<bool>& stop) {
    auto* of_files = dynamic_cast<FileRecording*>(&recording);
    for (std::size_t i = 0; i < recording.inputs.size(); ++i) {
        InputFile& input = recording.inputs[i];
        if (!input.sha256.empty()) continue;
        const bool spooled = of_files != nullptr && of_files->files[i].spooled != nullptr;
        input.sha256 = spooled ? digest_of(*of_files->files[i].spooled, input.path, stop)
                               : digest_of(input.path, stop);
    }
}

} // namespace lull
