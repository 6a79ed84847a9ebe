#include "cli/commands.h"

int main(int argc, char** argv) { return girdle::cli::main(argc, argv); }
