"""section"""
