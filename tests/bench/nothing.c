/* A program that links what proveout links, and does nothing: what starting costs at the least. */
int main(void)
{
    return 0;
}
