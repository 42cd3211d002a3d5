// SPDX-License-Identifier: GPL-3.0-or-later
//
// Runs a fuzz target over files and folders of files: the corpus as an ordinary test.
#include <algorithm>
#include <cstdint>
#include <cstdio>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <string>
#include <vector>

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* bytes, std::size_t size);

int main(int argc, char** argv) {
    namespace fs = std::filesystem;
    std::vector<std::string> files;
    for (int i = 1; i < argc; ++i) {
        if (!fs::is_directory(argv[i])) {
            files.emplace_back(argv[i]);
            continue;
        }
        for (const auto& entry : fs::directory_iterator(argv[i]))
            files.push_back(entry.path().string());
    }
    std::ranges::sort(files);
    for (const std::string& file : files) {
        std::ifstream stream(file, std::ios::binary);
        const std::string bytes{std::istreambuf_iterator<char>(stream), {}};
        std::printf("%s, %zu bytes\n", file.c_str(), bytes.size());
        std::fflush(stdout); // so that the last line names the file that ended it
        LLVMFuzzerTestOneInput(reinterpret_cast<const std::uint8_t*>(bytes.data()), bytes.size());
    }
    if (files.empty()) std::printf("no file to replay\n");
    return files.empty() ? 1 : 0;
}
