// Nothing but the headers that all test programs share; CMakeLists.txt names them.
