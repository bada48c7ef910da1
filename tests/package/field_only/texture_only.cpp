#include <cstdio>

#include "subcrop/field/texture.hpp"

int main() {
    const auto texture_class = subcrop::field::classify({65, 25, 10});
    std::printf("%s\n", std::string(subcrop::field::name(texture_class)).c_str());
}
